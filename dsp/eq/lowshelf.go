package eq

import "strop/dsp"

var lowShelfFreq = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 10, Max: 20000, Neutral: 100, Scale: dsp.Log}

// LowShelf boosts or cuts everything below a frequency.
//
//	freqHz  where half the gain is reached    10 to 20000 Hz, below 0.49 of the rate
//	gainDB  gain far below                    −24 to 24 dB; 0 does nothing, to the bit
//	slope   1 is the steepest without overshoot, less is gentler   0.2 to 1
//
// No latency. Equal boost and cut cancel exactly. The design is
// MatchedLowShelf.
//
// Source: the analogue shelf of R. Bristow-Johnson, Cookbook formulae for audio
// EQ biquad filter coefficients (W3C Group Note, 2021), matched in the manner
// of M. Vicanek, Matched Second Order Digital Filters (2016).
var LowShelf = dsp.Spec{
	ID:     "lowshelf",
	Name:   "low shelf",
	Doc:    "Boosts or cuts everything below a frequency.",
	Source: "M. Vicanek, Matched Second Order Digital Filters, 2016; prototype of the W3C Audio EQ Cookbook, 2021",
	Params: []dsp.Param{lowShelfFreq, shelfGain, shelfSlope},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(lowShelfFreq)); err != nil {
			return nil, err
		}
		return NewBiquad(designLowShelf(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return designLowShelf(rateHz, s).Response(rateHz, freqHz)
	},
}

func designLowShelf(rateHz float64, s dsp.Setting) Coefficients {
	return MatchedLowShelf(rateHz, s.Get(lowShelfFreq), s.Get(shelfGain), s.Get(shelfSlope))
}
