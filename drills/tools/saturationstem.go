package tools

import (
	"strop/drills"
	"strop/dsp"
)

// saturationStem asks which stem is driven.
func saturationStem() drills.Tool {
	fit := drills.Fit{Stems: true, Among: true}
	return drills.Tool{
		ID: "sat-stem", Title: "Saturation on which stem", Type: "saturation",
		Doc:    "Hear which stem of a mix is driven.",
		Source: noPublished, Confusable: []string{"sat-kind"},
		Error: wrong, Unit: "of 1", Level: distortionLadder,
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "six", Title: "one of six", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, saturatorNumber, distortionDB},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{stemNumber.ID: float64(d.On), saturatorNumber.ID: 1, distortionDB.ID: d.Level}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredStems(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) > 0 {
				on = int(s.Get(stemNumber))
			}
			return saturated(c, on, s)
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem is driven?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}
