package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/space"
)

// insertNumber is which insert of a chain is too much: 0 for none.
var insertNumber = dsp.Param{ID: "insert", Name: "insert", Min: 0, Max: 4, Neutral: 0, Scale: dsp.Whole}

// insertSize is how far it goes beyond the ordinary, 0 to 1.
var insertSize = dsp.Param{ID: "size", Name: "excess", Min: 0, Max: 1, Neutral: 0}

// chainNames are the inserts of the chain, in its order, after "none".
var chainNames = []string{"none", "the EQ", "the compressor", "the saturation", "the reverb"}

var insertAnswer = cards{params: []dsp.Param{insertNumber}, say: func(s dsp.Setting) string { return chainNames[int(s.Get(insertNumber))] }}

// mixInsert puts a chain on the mix, each insert at an ordinary setting of our
// own, and one of them too much, or none: the untouched side has no chain. What is too
// much here is only what goes far beyond the rest of the chain.
func mixInsert() drills.Tool {
	var choices []drills.Choice
	for i, name := range chainNames {
		choices = append(choices, drills.Choice{Label: name, Guess: dsp.Setting{insertNumber.ID: float64(i)}})
	}
	return drills.Tool{
		ID: "mix-insert", Title: "Which insert is too much", Type: "mix",
		Doc:        "Hear which insert of a chain on the mix is too much, or that none is.",
		Source:     noPublished,
		Confusable: []string{"mix-attribute"},
		Error:      wrong, Unit: "of 1",
		Level:     dsp.Param{ID: "size", Name: "excess of the insert", Unit: "of 1", Min: 0.25, Max: 1, Neutral: 0.8},
		OwnLadder: true,
		Rungs:     []drills.Rung{{ID: "five", Title: "one of four, or none", Surface: drills.Cards, Choices: choices}},
		Params:    []dsp.Param{insertNumber, insertSize},
		Fit:       drills.Fit{Mix: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{insertNumber.ID: float64(d.R.IntN(len(chainNames))), insertSize.ID: d.Level}, nil
		},
		Change:   chainOnMix,
		Question: func(drills.Draw, dsp.Setting) string { return "Which insert of the chain is too much?" },
		Read:     insertAnswer.Read, Grade: insertAnswer.Grade, Tell: insertAnswer.Tell,
		Region: func(truth dsp.Setting) string { return insertAnswer.say(truth) },
	}
}

// chainOnMix builds the chain, one insert of it in excess.
func chainOnMix(c drills.Clip, _ int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	excess := func(n int) float64 {
		if int(s.Get(insertNumber)) == n {
			return s.Get(insertSize)
		}
		return 0
	}
	rateHz := c.Loop.RateHz
	shelf, err := eq.HighShelf.New(rateHz, dsp.Setting{"freqHz": 6000, "gainDB": 1.5 + 7*excess(1)})
	if err != nil {
		return nil, err
	}
	compressor, err := mixCompressor(c, 1.5+8*excess(2), dsp.Setting{compRatio.ID: 3, compAttack.ID: 10, compRelease.ID: 120})
	if err != nil {
		return nil, err
	}
	distortDB := -26.0
	if e := excess(3); e > 0 {
		distortDB = -17 + 12*e // under that hardly anything changes
	}
	drive, err := driven(saturators[0].spec(), c.Frames, rateHz, distortDB)
	if err != nil {
		return nil, err
	}
	room, err := space.Room.New(rateHz, dsp.Setting{"drrDB": 18 - 15*excess(4), "decayS": 1.2})
	return onMix(dsp.Chain{shelf, compressor, drive, room}, err)
}
