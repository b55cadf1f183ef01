package eq

import "strop/dsp"

var (
	notchFreq  = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	notchDepth = dsp.Param{ID: "depthDB", Name: "depth", Unit: "dB", Min: 0, Max: 96, Neutral: 0}
	notchQ     = dsp.Param{ID: "q", Name: "Q", Min: 0.5, Max: 30, Neutral: 8, Scale: dsp.Log}
)

// Notch removes a narrow band.
//
//	freqHz   centre                                      20 to 20000 Hz, below 0.49 of the rate
//	depthDB  loss at the centre                          0 to 96 dB; 0 does nothing, to the bit
//	q        centre over bandwidth between −3.01 dB      0.5 to 30
//	         points of the deepest notch
//
// Unlike that of a peak, the width of its skirts does not depend on the depth.
// Up to 3 dB of depth there are no −3.01 dB points, and q says it of the poles.
//
//	H(s) = (s² + s·g/q + 1)/(s² + s/q + 1),  g = 10^(−depthDB/20)
//
// No latency. The design is the MatchedPeak whose poles are these.
//
// Source: M. Vicanek, Matched Second Order Digital Filters (2016); a notch of
// finite depth is common practice, no source.
var Notch = dsp.Spec{
	ID:     "notch",
	Name:   "notch filter",
	Doc:    "Removes a narrow band.",
	Source: "M. Vicanek, Matched Second Order Digital Filters, 2016",
	Params: []dsp.Param{notchFreq, notchDepth, notchQ},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(notchFreq)); err != nil {
			return nil, err
		}
		return NewBiquad(designNotch(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return designNotch(rateHz, s).Response(rateHz, freqHz)
	},
}

func designNotch(rateHz float64, s dsp.Setting) Coefficients {
	depthDB := s.Get(notchDepth)
	return MatchedPeak(rateHz, s.Get(notchFreq), -depthDB, s.Get(notchQ)*dsp.FromDB(depthDB/2))
}
