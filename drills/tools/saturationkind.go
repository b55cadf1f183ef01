package tools

import (
	"strop/drills"
	"strop/dsp"
)

var saturatorAnswer = cards{params: []dsp.Param{saturatorNumber}, say: func(s dsp.Setting) string { return saturators[int(s.Get(saturatorNumber))-1].name }}

// saturationKind asks which kind of saturation it is, all as distorted.
func saturationKind() drills.Tool {
	var choices []drills.Choice
	for i, s := range saturators {
		choices = append(choices, drills.Choice{Label: s.name, Guess: dsp.Setting{saturatorNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "sat-kind", Title: "Kind of saturation", Type: "saturation",
		Doc:    "Tell soft, hard, asymmetric and tape saturation apart, all as distorted.",
		Source: noPublished, Confusable: []string{"sat-amount"},
		Error: wrong, Unit: "of 1", Level: distortionLadder,
		Rungs: []drills.Rung{
			{ID: "two", Title: "soft or hard", Surface: drills.Cards, Choices: choices[:2]},
			{ID: "four", Title: "one of four", Surface: drills.Cards, Choices: choices},
		},
		Params: []dsp.Param{saturatorNumber, distortionDB},
		Fit:    drills.Fit{Mix: true, Stems: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			n := len(d.Rung.Choices)
			return dsp.Setting{saturatorNumber.ID: float64(1 + d.R.IntN(n)), distortionDB.ID: d.Level}, nil
		},
		Change:   saturated,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Which saturation is it" + on(d) + "?" },
		Read:     saturatorAnswer.Read, Grade: saturatorAnswer.Grade, Tell: saturatorAnswer.Tell,
		Region: func(truth dsp.Setting) string { return saturatorAnswer.say(truth) },
	}
}
