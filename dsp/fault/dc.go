package fault

import "strop/dsp"

var offsetPct = dsp.Param{ID: "offsetPct", Name: "offset", Unit: "%", Min: -50, Max: 50, Neutral: 0}

// DC moves the whole waveform off the middle.
//
//	offsetPct  what is added to every sample, of full scale   −50 to 50 %; 0 is none
//
// The same in both channels, from the first frame on. No latency.
// Source: common practice, no source.
var DC = dsp.Spec{
	ID:     "dc",
	Name:   "DC offset",
	Doc:    "Moves the whole waveform off the middle: headroom is lost, and every cut clicks.",
	Source: "common practice, no source",
	Params: []dsp.Param{offsetPct},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		return direct(s.Get(offsetPct) / 100), nil
	},
}

// direct is the value that is added.
type direct float64

var _ dsp.Processor = direct(0)

// Reset does nothing: an offset has no memory.
func (d direct) Reset() {}

// Process adds to buf in place.
func (d direct) Process(buf []dsp.Frame) {
	ratio := float64(d)
	if ratio == 0 {
		return
	}
	for i := range buf {
		buf[i][0] += ratio
		buf[i][1] += ratio
	}
}
