package dynamics

import "strop/dsp"

// fetKneeDB is the bend of the transistor. Common practice, no source.
const fetKneeDB = 4

// FET is the character of a compressor whose gain is set by a field-effect
// transistor: fast enough to take hold of a single peak.
//
//	thresholdDB  level above which it acts                 −60 to 0 dB
//	ratio        dB in per dB out above it                 1 to 20; 1 does nothing, to the bit
//	attackMS     time to 63 % of a step up in reduction    0.02 to 1 ms
//	releaseMS    time in which a reduction falls to 37 %   50 to 1200 ms
//
// Behaviour: feedback; the peak of every sample; a knee of 4 dB; times so short
// that the gain moves within a cycle of a low note, which distorts it. Linked
// channels, no latency, no make-up gain.
//
// Source: the loop of Compressor; the character and its figures are common
// practice, no source.
var FET = dsp.Spec{
	ID:     "fet",
	Name:   "FET compressor",
	Doc:    "Lowers what rises above a threshold within a millisecond.",
	Source: "common practice, no source",
	Params: []dsp.Param{threshold, ratio, fetAttack, fetRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return design{
			rateHz:      rateHz,
			thresholdDB: s.Get(threshold), ratio: s.Get(ratio), kneeDB: fetKneeDB,
			attackMS: s.Get(fetAttack), releaseMS: s.Get(fetRelease),
			feedback: true, link: 1, mix: 1,
		}.build()
	},
}

var (
	fetAttack  = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.02, Max: 1, Neutral: 0.2, Scale: dsp.Log}
	fetRelease = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 50, Max: 1200, Neutral: 200, Scale: dsp.Log}
)
