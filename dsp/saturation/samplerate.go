package saturation

import "strop/dsp"

var sampleRateHz = dsp.Param{ID: "sampleRateHz", Name: "sample rate", Unit: "Hz", Min: 500, Max: dsp.MaxRateHz, Neutral: dsp.MaxRateHz, Scale: dsp.Log}

// SampleRate takes fewer samples and holds each until the next.
//
//	sampleRateHz  samples taken per second   500 to 384000 Hz; the rate of the material or more does nothing, to the bit
//
// No filter before and none after, on purpose: what lies above half of
// sampleRateHz folds down, and every tone is mirrored about its multiples, under
// sin(πf/sampleRateHz)/(πf/sampleRateHz). Samples are taken at whole frames, so
// a rate that does not divide that of the material also jitters. No latency
// besides the holding itself, on average half a sample.
//
// Source: A. V. Oppenheim, R. W. Schafer, Discrete-Time Signal Processing, the
// zero-order hold (from memory).
var SampleRate = dsp.Spec{
	ID:     "samplerate",
	Name:   "sample-rate reduction",
	Doc:    "Takes fewer samples and holds each until the next: mirrored tones, on purpose.",
	Source: "Oppenheim & Schafer, Discrete-Time Signal Processing",
	Params: []dsp.Param{sampleRateHz},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		h := &holder{rateHz: rateHz, takenHz: min(s.Get(sampleRateHz), rateHz)}
		h.Reset()
		return h, nil
	},
}

// holder counts in Hz, so that rates in whole Hz never drift.
type holder struct {
	rateHz, takenHz float64
	due             float64 // a sample is taken when this reaches rateHz
	held            dsp.Frame
}

var _ dsp.Processor = (*holder)(nil)

// Reset makes the next frame a sample.
func (h *holder) Reset() { h.due, h.held = h.rateHz, dsp.Frame{} }

// Process holds samples of buf in place.
func (h *holder) Process(buf []dsp.Frame) {
	rateHz, takenHz, due, held := h.rateHz, h.takenHz, h.due, h.held
	for i := range buf {
		if due >= rateHz {
			due -= rateHz
			held = buf[i]
		}
		due += takenHz
		buf[i] = held
	}
	h.due, h.held = due, held
}
