package tools

import (
	"strop/drills"
	"strop/dsp"
)

var faderGain = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -12, Max: 12, Neutral: 0}

var faderAnswer = scale{
	param: faderGain, key: "errorDB", near: 1,
	say: dsp.FormatDB,
	off: over(decibels, "too high", "too low"),
}

// makeLevel has the engineer undo a hidden change of one stem's level with a
// gain. The ladder is as for the level of a stem.
func makeLevel() drills.Tool {
	return drills.Tool{
		ID: "make-level", Title: "Undo with a fader", Type: "level",
		Doc:        "Bring a stem back to its level in the mix: say the move first, then make it.",
		Source:     "least change of level that is heard, 0.5 to 1 dB: Open University, Hearing, section 10.3",
		Confusable: []string{"level-stem"},
		Error:      faderAnswer.key, Unit: "dB",
		Level:      dsp.Param{ID: "hiddenDB", Name: "hidden change", Unit: "dB", Min: 1.5, Max: 8, Neutral: 5, Scale: dsp.Log},
		Rungs:      []drills.Rung{{ID: "turn", Title: "a gain", Surface: drills.Knobs}},
		Params:     []dsp.Param{faderGain},
		Fit:        drills.Fit{Stems: true},
		LevelAsked: true,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{faderGain.ID: either(d, d.Level, -d.Level)}, nil
		},
		Change: func(_ drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return drills.OnStem(on, dsp.Gain(dsp.FromDB(-s.Get(faderGain)))), nil
		},
		Mend: func(_ drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
			return drills.OnStem(on, dsp.Gain(dsp.FromDB(guess.Get(faderGain)-truth.Get(faderGain)))), nil
		},
		Question: bringBack,
		Read:     readKnobs(faderGain),
		Grade:    faderAnswer.Grade, Tell: tellUndone(faderAnswer),
		Region: upOrDown(faderGain, "too soft", "too loud"),
	}
}
