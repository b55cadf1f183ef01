package tools

import (
	"strop/drills"
	"strop/dsp"
)

// compressedAnswer is the answer to whether a sound is compressed at all.
var compressedAnswer = cards{say: func(s dsp.Setting) string {
	return "compressed by " + decibels(s.Get(meanReduction)) + " on average"
}}

// compressedDrill asks whether there is a compressor at all, at equal loudness.
func compressedDrill() drills.Tool {
	return drills.Tool{
		ID: "comp-there", Title: "Compressed or not", Type: "dynamics",
		Doc:        "Hear whether a sound is compressed at all, at equal loudness.",
		Source:     "from 1 dB on average: common practice, no source; loudness is matched because compression is preferred mostly where it is not: N. B. H. Croghan et al. (2012), abstract",
		Confusable: []string{"comp-reduction"},
		Error:      wrong, Unit: "of 1", NothingShare: halfNothing,
		Level:  anyReduction,
		Rungs:  []drills.Rung{{ID: "there", Title: "compressed or not", Surface: drills.Cards, Choices: []drills.Choice{{Label: "compressed", Guess: dsp.Setting{compRatio.ID: 4}}}}},
		Params: []dsp.Param{meanReduction, compRatio, compAttack, compRelease},
		Fit:    onDynamics,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{meanReduction.ID: d.Level, compRatio.ID: 4, compAttack.ID: 5, compRelease.ID: 120}, nil
		},
		Change: changeReduction, Measure: measureReduction,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Is " + it(d) + " compressed?" },
		Read:     compressedAnswer.Read, Grade: compressedAnswer.Grade, Tell: compressedAnswer.Tell,
		Region: anywhere,
	}
}
