package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

// levelGain is how much louder or softer, in dB.
var levelGain = dsp.Param{ID: "gainDB", Name: "change of level", Unit: "dB", Min: -12, Max: 12, Neutral: 0}

// decibels are told to a tenth.
var decibels = unit(1, "dB")

// levelAnswer reads, grades and tells a change of level.
var levelAnswer = scale{
	param: levelGain, key: "errorDB", near: 0.5,
	say: dsp.FormatDB,
	off: over(decibels, "too high", "too low"),
}

// levelStem asks by how much one stem of a mix was raised or lowered.
//
// The ladder is the size of the change. 0.5 to 1 dB is the least change of
// level that is heard in complex sounds: Open University, Hearing, section
// 10.3; behind other stems it takes more.
func levelStem() drills.Tool {
	return drills.Tool{
		ID: "level-stem", Title: "Level of a stem", Type: "level",
		Doc:    "Hear by how much one stem was raised or lowered in the mix.",
		Source: "least change of level that is heard, 0.5 to 1 dB: Open University, Hearing, section 10.3",
		Error:  levelAnswer.key, Unit: "dB",
		Level: levelLadder,
		Rungs: []drills.Rung{
			{ID: "way", Title: "louder or softer", Surface: drills.Cards},
			{ID: "free", Title: "by how many dB", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{levelGain},
		Fit:          drills.Fit{Stems: true},
		NothingShare: usualNothing,
		LevelAsked:   true,
		Ask:          askLevel(levelLadder),
		Choices:      wayChoices,
		Change:       changeLevel,
		Question:     levelQuestion,
		Read:         levelAnswer.Read,
		Grade:        levelAnswer.Grade,
		Tell:         tellLevel,
		Region:       upOrDown(levelGain, "louder", "softer"),
	}
}

// tellLevel says which way it went where that was all that was asked.
func tellLevel(rung drills.Rung, truth, guess dsp.Setting) string {
	if rung.Surface != drills.Cards || len(truth) == 0 || len(guess) == 0 {
		return levelAnswer.Tell(rung, truth, guess)
	}
	way := upOrDown(levelGain, "louder", "softer")
	if way(truth) == way(guess) {
		return "It was " + way(truth) + ", by " + levelAnswer.say(truth.Get(levelGain)) + ", as you said."
	}
	return "It was " + way(truth) + ", by " + levelAnswer.say(truth.Get(levelGain)) + "; you said " + way(guess) + "."
}

var levelLadder = dsp.Param{ID: "changeDB", Name: "change", Unit: "dB", Min: 1, Max: 6, Neutral: 4, Scale: dsp.Log}

// askLevel draws a change of the level's size or, on a scale, of up to twice
// it, up or down.
func askLevel(ladder dsp.Param) func(drills.Draw) (dsp.Setting, error) {
	return func(d drills.Draw) (dsp.Setting, error) {
		size := d.Level
		if d.Rung.Surface == drills.Ruler {
			size = upTo(d, ladder, 2)
		}
		return dsp.Setting{levelGain.ID: either(d, size, -size)}, nil
	}
}

// wayChoices are as much up and as much down.
func wayChoices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	if d.Rung.Surface != drills.Cards {
		return nil, nil
	}
	size := math.Abs(asked.Get(levelGain))
	return []drills.Choice{
		{Label: "louder", Guess: dsp.Setting{levelGain.ID: size}},
		{Label: "softer", Guess: dsp.Setting{levelGain.ID: -size}},
	}, nil
}

func changeLevel(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	p, err := stereo.Gain.New(c.Loop.RateHz, s)
	return drills.OnStem(on, p), err
}

func levelQuestion(d drills.Draw, _ dsp.Setting) string {
	if d.Rung.Surface == drills.Cards {
		return "Was " + it(d) + " made louder or softer?"
	}
	return "By how much was " + it(d) + " made louder or softer?"
}

// upOrDown is the region of a drill whose changes go two ways.
func upOrDown(p dsp.Param, up, down string) func(dsp.Setting) string {
	return func(truth dsp.Setting) string {
		if truth.Get(p) < 0 {
			return down
		}
		return up
	}
}
