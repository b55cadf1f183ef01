package space

import (
	"math"

	"strop/dsp"
)

var (
	flangerDelay    = dsp.Param{ID: "delayMS", Name: "least delay", Unit: "ms", Min: 0.5, Max: 10, Neutral: 1, Scale: dsp.Log}
	flangerDepth    = dsp.Param{ID: "depthMS", Name: "depth", Unit: "ms", Min: 0, Max: 10, Neutral: 3}
	flangerFeedback = dsp.Param{ID: "feedbackPct", Name: "feedback", Unit: "%", Min: -95, Max: 95, Neutral: 0}
	flangerSpread   = dsp.Param{ID: "spreadDeg", Name: "spread", Unit: "°", Min: 0, Max: 180, Neutral: 0}
)

// Flanger adds a copy whose short delay goes to and fro: a comb that moves.
//
//	delayMS      least delay of the copy                     0.5 to 10 ms
//	depthMS      from the least to the greatest delay        0 to 10 ms
//	rateHz       how often it goes to and fro, as a sine     0.02 to 8 Hz
//	feedbackPct  how much of the copy is delayed once more;  −95 to 95 %
//	             below 0 turned over
//	spreadDeg    how far right is ahead of left              0 to 180°
//	mixPct       level of the copy over the direct sound     0 to 100 %; 0 does nothing,
//	                                                         to the bit
//
// At a delay τ the comb has its notches at (2k+1)/(2τ), its peaks, of 0 dB, at
// k/τ: direct sound and copy are lowered together by 1 + mix, the copy by 1 −
// |feedback|. The copy reaches up to 0.4 of the rate. No latency.
// Source: J. Dattorro, Effect design, part 2: delay-line modulation and chorus,
// JAES 45(10) (1997); the delay by parts of a sample is a windowed sinc.
var Flanger = dsp.Spec{
	ID:     "flanger",
	Name:   "flanger",
	Doc:    "Adds a copy whose short delay goes to and fro.",
	Source: "J. Dattorro, Effect design, part 2: delay-line modulation and chorus, JAES 45(10), 1997",
	Params: []dsp.Param{flangerDelay, flangerDepth, modRate, flangerFeedback, flangerSpread, modMix},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		middle, swing, err := sweep(rateHz, s.Get(flangerDelay), s.Get(flangerDepth))
		if err != nil {
			return nil, err
		}
		mix := s.Get(modMix) / 100
		f := &flanger{
			dry: 1 / (1 + mix), feedback: s.Get(flangerFeedback) / 100, middle: middle, swing: swing,
			lfo: newTurner(rateHz, s.Get(modRate)), rest: newTurner(rateHz, s.Get(modRate)), table: sincTable(),
		}
		f.wet = mix * f.dry * (1 - math.Abs(f.feedback))
		for side := range 2 {
			f.tapes[side] = newTape(middle + swing)
			f.ahead[side][0], f.ahead[side][1] = math.Sincos(float64(side) * s.Get(flangerSpread) * math.Pi / 180)
		}
		return f, nil
	},
}

type flanger struct {
	dry, wet, feedback float64
	middle, swing      float64
	ahead              [2][2]float64
	lfo, rest          turner
	table              *[sincPlaces]sincRow
	tapes              [2]tape
}

var _ dsp.Processor = (*flanger)(nil)

func (f *flanger) Reset() {
	f.lfo = f.rest
	f.tapes[0].reset()
	f.tapes[1].reset()
}

func (f *flanger) Process(buf []dsp.Frame) {
	for i := range buf {
		for side := range 2 {
			x := buf[i][side]
			sin, cos := f.ahead[side][0], f.ahead[side][1]
			copied := f.tapes[side].read(f.table, f.middle+f.swing*(f.lfo.sin*cos+f.lfo.cos*sin))
			f.tapes[side].write(settled(x + f.feedback*copied))
			buf[i][side] = f.dry*x + f.wet*copied
		}
		f.lfo.next()
	}
}
