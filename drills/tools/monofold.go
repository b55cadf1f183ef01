package tools

import (
	"errors"
	"math"
	"slices"
	"strings"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/stereo"
)

var (
	// foldLoss is what a stem loses in mono, as measured.
	foldLoss = dsp.Param{ID: "lossDB", Name: "loss in mono", Unit: "dB", Min: 0, Max: 60, Neutral: 0}
	// foldHeard is 1 where the changed side is the fold itself.
	foldHeard = dsp.Param{ID: "folded", Name: "heard in mono", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
)

// monoFold asks which stem is lost when the mix is summed to mono: its channels
// are partly of opposite polarity. Heard is the fold against the mix or, on the
// hardest way to answer, the mix alone. The truth is the measured loss.
//
// The ladder is the loss. A stem that stands at one side loses 3 dB of itself,
// as everything does that only one channel has: only stems that lose no more
// than half of what the one in question does are offered beside it. Common
// practice, no source.
func monoFold() drills.Tool {
	return drills.Tool{
		ID: "mono-fold", Title: "Lost in mono", Type: "phase",
		Doc:        "Hear which stem is lost when the mix is summed to mono.",
		Source:     "common practice, no source: from 2.5 dB, where others lose no more than half of it",
		Confusable: []string{"correlation", "width-stem"},
		Error:      wrong, Unit: "of 1",
		Level:     dsp.Param{ID: "lossDB", Name: "loss in mono", Unit: "dB", Min: 2.5, Max: 20, Neutral: 14},
		OwnLadder: true,
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three, in mono", Surface: drills.Stems},
			{ID: "six", Title: "one of six, in mono", Surface: drills.Stems},
			{ID: "ahead", Title: "one of six, heard in stereo", Surface: drills.Stems},
		},
		Params: []dsp.Param{stemNumber, foldLoss, foldHeard},
		Fit:    drills.Fit{Stems: true, Among: true},
		Ask:    askFold,
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			return offered(d, shuffled(d, safeInMono(d, asked.Get(foldLoss)/2)), map[string]int{"three": 3, "six": 6, "ahead": 6}[d.Rung.ID])
		},
		Change:  changeFold,
		Measure: measureFold,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.ID == "ahead" {
				return "Which stem will be lost when this is summed to mono?"
			}
			return "Which stem is lost when the mix is summed to mono?"
		},
		Read: stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellFold, Region: anywhere,
	}
}

func askFold(d drills.Draw) (dsp.Setting, error) {
	s := dsp.Setting{stemNumber.ID: float64(d.On), foldLoss.ID: d.Level, foldHeard.ID: 1}
	if d.Rung.ID == "ahead" {
		s[foldHeard.ID] = 0
	}
	return s, nil
}

// tellFold says as well how much was lost, as measured.
func tellFold(r drills.Rung, truth, guess dsp.Setting) string {
	text := tellStem(r, truth, guess)
	if len(truth) == 0 {
		return text
	}
	return strings.TrimSuffix(text, ".") + ": " + decibels(truth.Get(foldLoss)) + " of it are lost in mono."
}

// safeInMono are the stems that play and lose no more than mostDB by
// themselves: 10·log10(1 + side/middle), of their powers.
func safeInMono(d drills.Draw, mostDB float64) []int {
	return slices.DeleteFunc(playing(d.Clip), func(on int) bool {
		return dsp.PowerToDB(1+math.Pow(10, d.Clip.Stem(on).Traits.SideDB/10)) > mostDB
	})
}

// changeFold turns the plane of left and right until what was heard from one
// place stands so far outside that mono loses so much of it: from the middle
// by the angle whose cosine is the ratio that is left.
func changeFold(c drills.Clip, _ int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	on := int(s.Get(stemNumber))
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	middle, at := math.Pi/4, imageOf(frames).angleRad
	away := math.Acos(dsp.FromDB(-s.Get(foldLoss)))
	inserts := drills.OnStem(on, turnedBy(middle+math.Copysign(away, at-middle)-at))
	if s.Get(foldHeard) == 1 {
		mono, err := stereo.Width.New(c.Loop.RateHz, dsp.Setting{"widthPct": 0})
		if err != nil {
			return nil, err
		}
		inserts = append(inserts, drills.Insert{Processor: mono})
	}
	return inserts, nil
}

func measureFold(m drills.Made) (dsp.Setting, error) {
	lossDB := measure.MonoFoldOf(m.After, m.RateHz).LossLU
	if !(lossDB > 0.75*m.Setting.Get(foldLoss)) {
		return nil, errors.New(m.Clip.Where(m.On) + " is too wide to be lost in mono")
	}
	return m.Setting.With(foldLoss.ID, min(lossDB, foldLoss.Max)), nil
}
