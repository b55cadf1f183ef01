package dynamics

import "strop/dsp"

// vcaAverageMS is the averaging time of the detector. Common practice, no
// source.
const vcaAverageMS = 5

// VCA is the character of a compressor built around a voltage-controlled
// amplifier: exact, and indifferent to what it hears.
//
//	thresholdDB  level above which it acts                 −60 to 0 dB
//	ratio        dB in per dB out above it                 1 to 20; 1 does nothing, to the bit
//	kneeDB       width of the bend about the threshold     0 to 24 dB, 0 unless asked for
//	attackMS     time to 63 % of a step up in reduction    0.1 to 100 ms
//	releaseMS    time in which a reduction falls to 37 %   20 to 2000 ms
//
// Behaviour: feed-forward; the mean square over 5 ms is what it calls level,
// so that a single peak passes; a hard knee; attack and release straight lines
// in dB against the logarithm of what is left, the same after a word as after a
// verse. Averaging comes on top of both labels. Linked channels, no latency, no
// make-up gain.
//
// Source: the detector of Compressor; the character is common practice, no
// source.
var VCA = dsp.Spec{
	ID:     "vca",
	Name:   "VCA compressor",
	Doc:    "Lowers what rises above a threshold, by its mean level and the same way every time.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012; the character: common practice, no source",
	Params: []dsp.Param{threshold, ratio, vcaKnee, vcaAttack, vcaRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return design{
			rateHz:      rateHz,
			thresholdDB: s.Get(threshold), ratio: s.Get(ratio), kneeDB: s.Get(vcaKnee),
			attackMS: s.Get(vcaAttack), releaseMS: s.Get(vcaRelease),
			rmsMS: vcaAverageMS, link: 1, mix: 1,
		}.build()
	},
}

var (
	vcaKnee    = dsp.Param{ID: "kneeDB", Name: "knee", Unit: "dB", Min: 0, Max: 24}
	vcaAttack  = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.1, Max: 100, Neutral: 10, Scale: dsp.Log}
	vcaRelease = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 20, Max: 2000, Neutral: 150, Scale: dsp.Log}
)
