package tools

import (
	"strop/drills"
	"strop/dsp"
)

// polaritySwitch is that of a channel.
var polaritySwitch = dsp.Param{ID: "turned", Name: "polarity turned over", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}

// makePolarity has the engineer find out with the polarity switch of one of two
// microphones whether it was turned over. Left as it is, is an answer.
//
// The ladder is as for the polarity of a microphone.
func makePolarity() drills.Tool {
	return drills.Tool{
		ID: "make-polarity", Title: "Set a polarity switch", Type: "phase",
		Doc:        "Set the polarity switch of one of two microphones so that both agree: say what you hear first, then try it.",
		Source:     "common practice, no source: down to 9 dB under its place",
		Confusable: []string{"mic-polarity", "mic-delay"},
		Error:      wrong, Unit: "of 1",
		Level: turnedMic, OwnLadder: true, Floor: drills.OfKinds,
		Rungs: []drills.Rung{{ID: "turn", Title: "a polarity switch", Surface: drills.Knobs,
			Choices: []drills.Choice{{Label: "turn it over", Guess: dsp.Setting{polaritySwitch.ID: 1}}}}},
		Params:       []dsp.Param{polaritySwitch, turnedMic},
		Turns:        []dsp.Param{polaritySwitch},
		Fit:          drills.Fit{Stems: true, Pair: true},
		NothingShare: yesOrNo,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{polaritySwitch.ID: 1, turnedMic.ID: d.Level}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if s.Get(polaritySwitch) == 0 {
				return nil, nil
			}
			return changeMicPolarity(c, on, s)
		},
		Mend: func(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
			if truth.Get(polaritySwitch) == guess.Get(polaritySwitch) {
				return nil, nil
			}
			return changeMicPolarity(c, on, dsp.Setting{turnedMic.ID: truth.Get(turnedMic)})
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "Set the polarity of " + d.Where() + " so that it agrees with " + partnerOf(d) + " as it did."
		},
		Read: readPolarity, Grade: gradePolarity, Tell: tellPolarity, Region: anywhere,
	}
}

func readPolarity(r drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
	if c, ok := chosen(r, text); ok {
		return given(asked, c), nil
	}
	return readKnobs(polaritySwitch)(r, asked, text)
}

// gradePolarity takes a switch that is left as it is for nothing.
func gradePolarity(_ drills.Rung, truth, guess dsp.Setting) drills.Score {
	if truth.Get(polaritySwitch) != guess.Get(polaritySwitch) {
		return drills.Score{Errors: map[string]float64{wrong: 1}}
	}
	return drills.Score{Right: true, Errors: map[string]float64{wrong: 0}}
}

func tellPolarity(r drills.Rung, truth, guess dsp.Setting) string {
	text := "Nothing was changed"
	if truth.Get(polaritySwitch) == 1 {
		text = "It was turned over"
	}
	switch {
	case gradePolarity(r, truth, guess).Right:
		return text + ", as you heard."
	case guess.Get(polaritySwitch) == 1:
		return text + "; you turned it over."
	}
	return text + "; you left it as it was."
}
