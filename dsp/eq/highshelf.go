package eq

import "strop/dsp"

var highShelfFreq = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 10, Max: 20000, Neutral: 3000, Scale: dsp.Log}

// HighShelf boosts or cuts everything above a frequency.
//
//	freqHz  where half the gain is reached    10 to 20000 Hz, below 0.49 of the rate
//	gainDB  gain far above                    −24 to 24 dB; 0 does nothing, to the bit
//	slope   1 is the steepest without overshoot, less is gentler   0.2 to 1
//
// No latency. Equal boost and cut cancel exactly. The design is
// MatchedHighShelf.
//
// Source: the analogue shelf of R. Bristow-Johnson, Cookbook formulae for audio
// EQ biquad filter coefficients (W3C Group Note, 2021), matched in the manner
// of M. Vicanek, Matched Second Order Digital Filters (2016).
var HighShelf = dsp.Spec{
	ID:     "highshelf",
	Name:   "high shelf",
	Doc:    "Boosts or cuts everything above a frequency.",
	Source: "M. Vicanek, Matched Second Order Digital Filters, 2016; prototype of the W3C Audio EQ Cookbook, 2021",
	Params: []dsp.Param{highShelfFreq, shelfGain, shelfSlope},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(highShelfFreq)); err != nil {
			return nil, err
		}
		return NewBiquad(designHighShelf(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return designHighShelf(rateHz, s).Response(rateHz, freqHz)
	},
}

func designHighShelf(rateHz float64, s dsp.Setting) Coefficients {
	return MatchedHighShelf(rateHz, s.Get(highShelfFreq), s.Get(shelfGain), s.Get(shelfSlope))
}
