package eq

import "strop/dsp"

var lowCut = cut{
	freq:   dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 10, Max: 20000, Neutral: 80, Scale: dsp.Log},
	second: MatchedHighPass,
	first:  matchedHighPass1,
}

// LowCut removes what lies below a frequency.
//
//	freqHz      corner                               10 to 20000 Hz, below 0.49 of the rate
//	slopeDBOct  steepness below it                   0 to 48 dB/oct in steps of 6; 0 does nothing, to the bit
//	cornerDB    −3: Butterworth, −3.01 dB at freqHz; −6: Linkwitz–Riley, −6.02 dB,
//	            which has slopes of 12, 24, 36 and 48 dB/oct
//
// No latency. The sections are MatchedHighPass.
//
// Source: S. Butterworth, On the theory of filter amplifiers, Experimental
// Wireless 7 (1930) (from memory); S. H. Linkwitz, Active crossover networks
// for noncoincident drivers, JAES 24(1) (1976) (from memory); M. Vicanek,
// Matched Second Order Digital Filters (2016).
var LowCut = dsp.Spec{
	ID:       "lowcut",
	Name:     "low cut",
	Doc:      "Removes what lies below a frequency.",
	Source:   "Butterworth, 1930; Linkwitz, JAES 24(1), 1976; M. Vicanek, Matched Second Order Digital Filters, 2016",
	Params:   []dsp.Param{lowCut.freq, cutSlope, cutCorner},
	Build:    lowCut.build,
	Response: lowCut.response,
}
