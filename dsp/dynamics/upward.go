package dynamics

import "strop/dsp"

// Upward is an upward compressor: it raises what falls under a threshold.
//
//	thresholdDB  level below which it acts                −80 to 0 dB
//	ratio        dB in per dB out below it                1 to 10; 1 does nothing, to the bit
//	kneeDB       width of the bend about the threshold    0 to 24 dB
//	maxGainDB    the greatest gain, which silence gets    0 to 24 dB
//	attackMS     time in which a gain falls to 37 %       0.1 to 100 ms, not above the release
//	releaseMS    time to 63 % of a step up in gain        10 to 2000 ms
//
// What is above the threshold and its knee is not raised. The level is the
// greatest peak of the last 10 ms. Linked channels, no latency.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012), the curve turned over; held peak and cap
// are our own.
var Upward = dsp.Spec{
	ID:     "upward",
	Name:   "upward compressor",
	Doc:    "Raises what falls under a threshold, up to a greatest gain.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012",
	Params: []dsp.Param{belowThreshold, belowRatio, kneeWidth, upwardMaxGain, belowAttack, belowRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		b, err := newBelow(rateHz, s.Get(belowThreshold), s.Get(kneeWidth), 1-1/s.Get(belowRatio),
			s.Get(upwardMaxGain), s.Get(belowAttack), s.Get(belowRelease))
		if err != nil {
			return nil, err
		}
		b.raises = true
		return b, nil
	},
}

var upwardMaxGain = dsp.Param{ID: "maxGainDB", Name: "greatest gain", Unit: "dB", Min: 0, Max: 24, Neutral: 12}
