package eq

import "strop/dsp"

var (
	bandFreq    = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	bandOutside = dsp.Param{ID: "outsideDB", Name: "level outside the band", Unit: "dB", Min: -96, Max: 0, Neutral: 0}
	bandQ       = dsp.Param{ID: "q", Name: "Q", Min: 0.3, Max: 30, Neutral: 1, Scale: dsp.Log}
)

// BandPass keeps a band and lowers what lies outside it.
//
//	freqHz     centre, which keeps its level            20 to 20000 Hz, below 0.49 of the rate
//	outsideDB  level far from it                        −96 to 0 dB; 0 does nothing, to the bit
//	q          centre over bandwidth between −3.01 dB   0.3 to 30
//	           points, while outsideDB is low
//
//	H(s) = (g·s² + s/q + g)/(s² + s/q + 1),  g = 10^(outsideDB/20)
//
// It falls by 6 dB per octave beside the band until it reaches outsideDB. No
// latency. The design is the MatchedPeak whose poles are these, lowered by g.
//
// Source: M. Vicanek, Matched Second Order Digital Filters (2016); a level
// outside the band is our own, so that it has a setting that does nothing.
var BandPass = dsp.Spec{
	ID:     "bandpass",
	Name:   "band-pass filter",
	Doc:    "Keeps a band and lowers what lies outside it.",
	Source: "M. Vicanek, Matched Second Order Digital Filters, 2016",
	Params: []dsp.Param{bandFreq, bandOutside, bandQ},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(bandFreq)); err != nil {
			return nil, err
		}
		return NewBiquad(designBandPass(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return designBandPass(rateHz, s).Response(rateHz, freqHz)
	},
}

func designBandPass(rateHz float64, s dsp.Setting) Coefficients {
	outsideDB := s.Get(bandOutside)
	return MatchedPeak(rateHz, s.Get(bandFreq), -outsideDB, s.Get(bandQ)*dsp.FromDB(outsideDB/2)).scaled(dsp.FromDB(outsideDB))
}
