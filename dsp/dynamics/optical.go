package dynamics

import "strop/dsp"

// What the light and its sensor are taken to do. Common practice, no source.
const (
	opticalKneeDB    = 12
	opticalAttackMS  = 10
	opticalReleaseMS = 60   // of the part that is let go at once
	opticalSlowMS    = 1500 // of the memory
	opticalPart      = 0.5  // of a lasting reduction that is remembered
	opticalAverageMS = 5
)

// Optical is the character of a compressor whose gain is set by a lamp and a
// light-dependent resistor: slow, soft, and slower to let go the longer it has
// held.
//
//	thresholdDB  level about which it acts    −60 to 0 dB
//	ratio        dB in per dB out above it    1 to 10; 1 does nothing, to the bit
//
// Behaviour: feedback; mean square over 5 ms; a knee of 12 dB; attack 10 ms;
// a release in two parts: a short reduction goes in 60 ms, of one that has
// lasted seconds half goes so and the other half with 1.5 s. Linked channels, no latency, no make-up gain.
//
// Source: the loop of Compressor; the character and its figures are common
// practice, no source.
var Optical = dsp.Spec{
	ID:     "optical",
	Name:   "optical compressor",
	Doc:    "Lowers what rises above a threshold, softly, and lets go slowly what it has held for long.",
	Source: "common practice, no source",
	Params: []dsp.Param{threshold, opticalRatio},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return design{
			rateHz:      rateHz,
			thresholdDB: s.Get(threshold), ratio: s.Get(opticalRatio), kneeDB: opticalKneeDB,
			attackMS: opticalAttackMS, releaseMS: opticalReleaseMS,
			slowPart: opticalPart, slowMS: opticalSlowMS,
			rmsMS: opticalAverageMS, feedback: true, link: 1, mix: 1,
		}.build()
	},
}

var opticalRatio = dsp.Param{ID: "ratio", Name: "ratio", Min: 1, Max: 10, Neutral: 1, Scale: dsp.Log}
