package dynamics

import "strop/dsp"

// What a tube with a remote cut-off is taken to do. Common practice, no source.
const (
	variMuKneeDB    = 30
	variMuAverageMS = 10
	variMuPart      = 0.4
	variMuSlow      = 8 // times the release
)

// VariMu is the character of a compressor whose gain is the changing
// amplification of a tube: the harder it is driven, the more it compresses.
//
//	thresholdDB  level at the middle of the bend           −60 to 0 dB
//	ratio        dB in per dB out, 15 dB above it          1 to 8; 1 does nothing, to the bit
//	attackMS     time to 63 % of a step up in reduction    2 to 100 ms
//	releaseMS    time in which a reduction falls to 37 %   100 to 2000 ms
//
// Behaviour: feedback; mean square over 10 ms; a knee of 30 dB, across which the
// ratio grows from 1; of a reduction that has lasted, 40 % are let go eight times as slowly.
// Linked channels, no latency, no make-up gain.
//
// Source: the loop of Compressor; the character and its figures are common
// practice, no source.
var VariMu = dsp.Spec{
	ID:     "varimu",
	Name:   "variable-mu compressor",
	Doc:    "Lowers what rises above a threshold, the more so the further it rises.",
	Source: "common practice, no source",
	Params: []dsp.Param{threshold, variMuRatio, variMuAttack, variMuRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return design{
			rateHz:      rateHz,
			thresholdDB: s.Get(threshold), ratio: s.Get(variMuRatio), kneeDB: variMuKneeDB,
			attackMS: s.Get(variMuAttack), releaseMS: s.Get(variMuRelease),
			slowPart: variMuPart, slowMS: variMuSlow * s.Get(variMuRelease),
			rmsMS: variMuAverageMS, feedback: true, link: 1, mix: 1,
		}.build()
	},
}

var (
	variMuRatio   = dsp.Param{ID: "ratio", Name: "ratio", Min: 1, Max: 8, Neutral: 1, Scale: dsp.Log}
	variMuAttack  = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 2, Max: 100, Neutral: 20, Scale: dsp.Log}
	variMuRelease = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 100, Max: 2000, Neutral: 300, Scale: dsp.Log}
)
