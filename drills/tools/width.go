package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

var widthPct = dsp.Param{ID: "widthPct", Name: "width", Unit: "%", Min: 25, Max: 200, Neutral: 100, Scale: dsp.Log}

var sideAnswer = scale{
	param: widthPct, key: "errorDB", near: 2,
	apart: func(truth, guess float64) float64 { return dsp.ToDB(guess / truth) },
	say:   unit(0, "%"),
	off:   over(decibels, "of side too much", "of side too little"),
}

// widthDrill asks how much wider or narrower something was made, as the ratio
// of its side; the error is told as a level of the side.
//
// The ladder is the change of the side. No published least difference was
// found; 1 dB is common practice, no source.
func widthDrill(id, title, doc string, fit drills.Fit, confusable ...string) drills.Tool {
	return drills.Tool{
		ID: id, Title: title, Type: "position", Doc: doc,
		Source:     "common practice, no source: from 1 dB of the side",
		Confusable: confusable,
		Error:      sideAnswer.key, Unit: "dB",
		Level: widthLadder,
		Near:  within(sideAnswer.near),
		Rungs: []drills.Rung{
			{ID: "way", Title: "wider or narrower", Surface: drills.Cards},
			{ID: "free", Title: "in per cent", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{widthPct},
		Fit:          fit,
		NothingShare: usualNothing,
		Ask:          askWidth,
		Choices:      widthChoices,
		Change:       changeWidth,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			what := "the mix"
			if w, err := wideOf(d.Clip, d.On); err == nil {
				what = w.name
			}
			if d.Rung.Surface == drills.Cards {
				return "Was " + what + " made wider or narrower?"
			}
			return "How wide is " + what + " now, 100 % being as it was?"
		},
		Read: sideAnswer.Read, Grade: sideAnswer.Grade, Tell: sideAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			if truth.Get(widthPct) < widthPct.Neutral {
				return "narrower"
			}
			return "wider"
		},
	}
}

func widthMix() drills.Tool {
	return widthDrill("width", "Width of the mix", "Hear how much wider or narrower a mix was made.", drills.Fit{Mix: true}, "width-stem", "correlation")
}

func widthStem() drills.Tool {
	return widthDrill("width-stem", "Width of a stem", "Hear how much wider or narrower one stereo stem, or one pair of microphones, was made in the mix.",
		drills.Fit{Stems: true, LeastSideDB: leastSideDB}, "width")
}

// leastSideDB is the side over the middle from which a stem may have a width.
// Common practice, no source.
const leastSideDB = -20

var widthLadder = dsp.Param{ID: "sideDB", Name: "change of the side", Unit: "dB", Min: 1, Max: 6, Neutral: 5, Scale: dsp.Log}

func askWidth(d drills.Draw) (dsp.Setting, error) {
	if _, err := wideOf(d.Clip, d.On); err != nil {
		return nil, err
	}
	size := d.Level
	if d.Rung.Surface == drills.Ruler {
		size = upTo(d, widthLadder, 2)
	}
	return dsp.Setting{widthPct.ID: 100 * dsp.FromDB(either(d, size, -size))}, nil
}

func widthChoices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	if d.Rung.Surface != drills.Cards {
		return nil, nil
	}
	size := math.Abs(dsp.ToDB(asked.Get(widthPct) / 100))
	return []drills.Choice{
		{Label: "wider", Guess: dsp.Setting{widthPct.ID: 100 * dsp.FromDB(size)}},
		{Label: "narrower", Guess: dsp.Setting{widthPct.ID: 100 * dsp.FromDB(-size)}},
	}, nil
}

func changeWidth(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	w, err := wideOf(c, on)
	if err != nil {
		return nil, err
	}
	p, err := stereo.Width.New(c.Loop.RateHz, dsp.Setting{"widthPct": s.Get(widthPct)})
	return w.insert(p), err
}
