package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

var (
	shapeNumber = dsp.Param{ID: "shape", Name: "shape", Min: 1, Max: 3, Neutral: 1, Scale: dsp.Whole}
	shapeGain   = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -24, Max: 24, Neutral: 0}
)

// shapes are the answers: what each is called, and the filter that it is.
var shapes = []struct {
	label string
	spec  func() dsp.Spec
	set   dsp.Setting // beside the gain
}{
	{"a bell in the middle", func() dsp.Spec { return eq.Peak }, dsp.Setting{"freqHz": 1000, "q": 0.7}},
	{"a low shelf", func() dsp.Spec { return eq.LowShelf }, dsp.Setting{"freqHz": 250}},
	{"a high shelf", func() dsp.Spec { return eq.HighShelf }, dsp.Setting{"freqHz": 3000}},
}

var shapeAnswer = cards{params: []dsp.Param{shapeNumber}, say: func(s dsp.Setting) string { return shapes[int(s.Get(shapeNumber))-1].label }}

// eqShape asks which of three wide shapes an EQ has.
func eqShape() drills.Tool {
	return drills.Tool{
		ID: "eq-shape", Title: "Shelf or bell", Type: "EQ",
		Doc:        "Hear whether the middle was raised by a bell, or an end by a shelf.",
		Source:     bandSource,
		Confusable: []string{"eq-band"},
		Error:      wrong, Unit: "of 1", Level: bandLadder,
		Rungs:        []drills.Rung{{ID: "three", Title: "bell, low shelf, high shelf", Surface: drills.Cards, Choices: shapeChoices()}},
		Params:       []dsp.Param{shapeNumber, shapeGain},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			n := d.R.IntN(len(shapes))
			s := dsp.Setting{shapeNumber.ID: float64(n + 1), shapeGain.ID: either(d, d.Level, -cutFactor*d.Level)}
			return s, carries(d, shapes[n].set["freqHz"], 1)
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			shape := shapes[int(s.Get(shapeNumber))-1]
			p, err := shape.spec().New(c.Loop.RateHz, shape.set.With("gainDB", s.Get(shapeGain)))
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, asked dsp.Setting) string {
			if asked.Get(shapeGain) < 0 {
				return "What was cut" + on(d) + "?"
			}
			return "What was raised" + on(d) + "?"
		},
		Read: shapeAnswer.Read, Grade: shapeAnswer.Grade, Tell: shapeAnswer.Tell,
		Region: func(truth dsp.Setting) string { return shapes[int(truth.Get(shapeNumber))-1].label },
	}
}

func shapeChoices() (choices []drills.Choice) {
	for i, s := range shapes {
		choices = append(choices, drills.Choice{Label: s.label, Guess: dsp.Setting{shapeNumber.ID: float64(i + 1)}})
	}
	return choices
}
