package eq

import (
	"fmt"

	"strop/dsp"
)

var (
	peakFreq = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 10, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	peakGain = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -24, Max: 24, Neutral: 0}
	peakQ    = dsp.Param{ID: "q", Name: "Q", Min: 0.1, Max: 30, Neutral: 1, Scale: dsp.Log}
)

// Peak boosts or cuts around one frequency.
//
//	freqHz  centre                                   10 to 20000 Hz, below 0.49 of the rate
//	gainDB  gain at the centre                       −24 to 24 dB; 0 does nothing, to the bit
//	q       centre over bandwidth at half the gain   0.1 to 30
//
// No latency. Equal boost and cut cancel exactly. The design is MatchedPeak at
// every frequency: in its closed form it is nearer to the analogue filter than
// CookbookPeak wherever either is off by more than 0.0002 dB, so there is no
// rule for changing over.
//
// Source: M. Vicanek, Matched Second Order Digital Filters (2016). Differs from
// it in: q is that of the cookbook (bandwidth at half the gain in dB), a cut is
// the inverse of the boost.
var Peak = dsp.Spec{
	ID:     "peak",
	Name:   "peak filter",
	Doc:    "Boosts or cuts around one frequency.",
	Source: "M. Vicanek, Matched Second Order Digital Filters, 2016",
	Params: []dsp.Param{peakFreq, peakGain, peakQ},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(peakFreq)); err != nil {
			return nil, err
		}
		return NewBiquad(designPeak(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return designPeak(rateHz, s).Response(rateHz, freqHz)
	},
}

func designPeak(rateHz float64, s dsp.Setting) Coefficients {
	return MatchedPeak(rateHz, s.Get(peakFreq), s.Get(peakGain), s.Get(peakQ))
}

// belowHalfRate refuses a frequency that a filter at this rate cannot treat.
func belowHalfRate(rateHz, freqHz float64) error {
	const most = 0.49
	if freqHz >= most*rateHz {
		return fmt.Errorf("freqHz=%g is too high for a sample rate of %g Hz; stay below %g Hz", freqHz, rateHz, most*rateHz)
	}
	return nil
}
