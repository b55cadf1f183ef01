package dynamics

import "strop/dsp"

// Expander lowers what falls under a threshold, the more the further it falls.
//
//	thresholdDB  level below which it acts                      −80 to 0 dB
//	ratio        dB out per dB in below it                      1 to 10; 1 does nothing, to the bit
//	kneeDB       width of the bend about the threshold          0 to 24 dB
//	rangeDB      the greatest reduction                         0 to 80 dB
//	attackMS     time in which a reduction falls to 37 %        0.1 to 100 ms, not above the release
//	releaseMS    time to 63 % of a step up in reduction         10 to 2000 ms
//
// The level is the greatest peak of the last 10 ms, so that the release begins
// 10 ms after the sound has gone. Linked channels, no latency.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012), the curve turned over; the held peak is
// our own.
var Expander = dsp.Spec{
	ID:     "expander",
	Name:   "expander",
	Doc:    "Lowers what falls under a threshold, the more the further it falls.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012",
	Params: []dsp.Param{belowThreshold, belowRatio, kneeWidth, expanderRange, belowAttack, belowRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		b, err := newBelow(rateHz, s.Get(belowThreshold), s.Get(kneeWidth), s.Get(belowRatio)-1,
			s.Get(expanderRange), s.Get(belowAttack), s.Get(belowRelease))
		if err != nil {
			return nil, err
		}
		return b, nil
	},
}

// Shared by Expander and Upward.
var (
	belowThreshold = dsp.Param{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -80, Max: 0, Neutral: -40}
	belowRatio     = dsp.Param{ID: "ratio", Name: "ratio", Min: 1, Max: 10, Neutral: 1, Scale: dsp.Log}
	belowAttack    = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.1, Max: 100, Neutral: 2, Scale: dsp.Log}
	belowRelease   = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 2000, Neutral: 150, Scale: dsp.Log}
)

var expanderRange = dsp.Param{ID: "rangeDB", Name: "range", Unit: "dB", Min: 0, Max: 80, Neutral: 40}
