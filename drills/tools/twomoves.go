package tools

import (
	"fmt"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

// secondHz is the second of two bands.
var secondHz = dsp.Param{ID: "secondHz", Name: "second frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}

var pairAnswer = cards{params: []dsp.Param{bandHz, secondHz}, say: func(s dsp.Setting) string { return pairName(s.Get(bandHz), s.Get(secondHz)) }}

func pairName(a, b float64) string { return nearNominal(a) + " and " + nearNominal(b) }

// twoMoves asks which two of a few bands were raised together.
//
// The ladder is the boost, as for EQ band.
func twoMoves() drills.Tool {
	return drills.Tool{
		ID: "eq-two", Title: "Two moves at once", Type: "EQ",
		Doc:        "Hear which two bands were raised at the same time.",
		Source:     bandSource,
		Confusable: []string{"eq-band"},
		Error:      wrong, Unit: "of 1", Level: bandLadder,
		Rungs: []drills.Rung{
			{ID: "of-three", Title: "two of three bands", Surface: drills.Cards, Choices: pairs(7, 17, 27)},
			{ID: "of-four", Title: "two of four bands", Surface: drills.Cards, Choices: pairs(7, 14, 21, 27)},
			{ID: "of-five", Title: "two of five bands", Surface: drills.Cards, Choices: pairs(7, 12, 17, 22, 27)},
		},
		Params: []dsp.Param{bandHz, secondHz, bandGain},
		Fit:    drills.Fit{Mix: true, Stems: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))].Guess.With(bandGain.ID, d.Level)
			if err := carries(d, s.Get(bandHz), 1); err != nil {
				return nil, err
			}
			return s, carries(d, s.Get(secondHz), 1)
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			var chain dsp.Chain
			for _, hz := range []float64{s.Get(bandHz), s.Get(secondHz)} {
				p, err := eq.Peak.New(c.Loop.RateHz, dsp.Setting{"freqHz": hz, "gainDB": s.Get(bandGain), "q": octaveQ})
				if err != nil {
					return nil, err
				}
				chain = append(chain, p)
			}
			return drills.OnStem(on, chain), nil
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return fmt.Sprintf("Which two bands%s were raised?", of(d)) },
		Read:     pairAnswer.Read, Grade: pairAnswer.Grade, Tell: pairAnswer.Tell,
		Region: bandRegion,
	}
}

// pairs are all pairs of third-octave bands, by their index.
func pairs(bands ...int) (choices []drills.Choice) {
	for i, a := range bands {
		for _, b := range bands[i+1:] {
			lo, hi := dsp.ThirdOctaveHz(a), dsp.ThirdOctaveHz(b)
			choices = append(choices, drills.Choice{Label: pairName(lo, hi), Guess: dsp.Setting{bandHz.ID: lo, secondHz.ID: hi}})
		}
	}
	return choices
}
