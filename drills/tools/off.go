package tools

import (
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
)

// offDrill is what the drills of tuning and of timing have in common: a stem is
// off, one way or the other, against those that are not.
type offDrill struct {
	kind, source string
	answer       scale
	ladder       dsp.Param
	fit          drills.Fit
	ways         [2]string // "sharp", "flat": above 0 and below
	spread       float64   // by how much of the level more a size on a scale may be

	// insert puts a stem off by v.
	insert func(c drills.Clip, on int, v float64) ([]drills.Insert, error)
}

// draw is off by the level or, on a scale, by up to spread of it more.
func (o offDrill) draw(d drills.Draw) float64 {
	size := d.Level
	if d.Rung.Surface == drills.Ruler {
		size = math.Round(upTo(d, o.ladder, 1+o.spread))
	}
	return either(d, size, -size)
}

// twoWays are as much the one way and the other.
func (o offDrill) twoWays(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	if d.Rung.Surface == drills.Ruler {
		return nil, nil
	}
	p, size := o.answer.param, math.Abs(asked.Get(o.answer.param))
	return []drills.Choice{
		{Label: o.ways[0], Guess: dsp.Setting{p.ID: size}}, {Label: o.ways[1], Guess: dsp.Setting{p.ID: -size}},
	}, nil
}

// amount is the drill of which way a stem is off, and by how much.
func (o offDrill) amount(t drills.Tool, howMuch, which string) drills.Tool {
	p := o.answer.param
	t.Type, t.Source, t.Error, t.Unit, t.Level, t.OwnLadder = o.kind, o.source, o.answer.key, p.Unit, o.ladder, true
	t.Floor, t.Near = drills.AtThreshold, within(o.answer.near)
	t.Rungs = []drills.Rung{
		{ID: "way", Title: o.ways[0] + " or " + o.ways[1], Surface: drills.Cards},
		{ID: "free", Title: "by how many " + p.Unit, Surface: drills.Ruler},
	}
	t.Params, t.Fit, t.NothingShare = []dsp.Param{p}, o.fit, usualNothing
	t.Ask = func(d drills.Draw) (dsp.Setting, error) { return dsp.Setting{p.ID: o.draw(d)}, nil }
	t.Choices = o.twoWays
	t.Change = func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) { return o.insert(c, on, s.Get(p)) }
	t.Question = func(d drills.Draw, _ dsp.Setting) string {
		if d.Rung.Surface == drills.Ruler {
			return "By how much is " + it(d) + " " + howMuch + "?"
		}
		return "Is " + it(d) + " " + which + "?"
	}
	t.Read, t.Grade, t.Tell, t.Region = o.answer.Read, o.answer.Grade, o.answer.Tell, upOrDown(p, o.ways[0], o.ways[1])
	return t
}

// layer is the drill of which stem of a few is off.
func (o offDrill) layer(t drills.Tool, question string, rungs ...string) drills.Tool {
	p, fit := o.answer.param, o.fit
	fit.Among = true
	t.Type, t.Source, t.Error, t.Unit, t.Level, t.OwnLadder = o.kind, o.source, wrong, "of 1", o.ladder, true
	t.Floor, t.Near = drills.AtThreshold, within(o.answer.near)
	for _, id := range rungs {
		t.Rungs = append(t.Rungs, drills.Rung{ID: id, Title: "one of " + id, Surface: drills.Stems})
	}
	t.Params, t.Fit = []dsp.Param{stemNumber, p}, fit
	t.Ask = func(d drills.Draw) (dsp.Setting, error) {
		return dsp.Setting{stemNumber.ID: float64(d.On), p.ID: either(d, d.Level, -d.Level)}, among(d, fit, layers[d.Rung.ID])
	}
	t.Choices = func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
		return offeredOf(d, fit, layers[d.Rung.ID])
	}
	t.Change = func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
		if len(s) > 0 {
			on = int(s.Get(stemNumber))
		}
		return o.insert(c, on, s.Get(p))
	}
	t.Question = func(drills.Draw, dsp.Setting) string { return question }
	t.Read, t.Grade, t.Tell, t.Region = stemAnswer.Read, stemAnswer.Grade, tellStem, anywhere
	return t
}

// layers is how many stems a way to answer offers.
var layers = map[string]int{"three": 3, "four": 4, "five": 5, "six": 6}

// offeredOf are the stems among which one is meant, only those that suit.
func offeredOf(d drills.Draw, fit drills.Fit, n int) ([]drills.Choice, error) {
	targets, err := fit.Targets(d.Clip)
	if err != nil || len(targets) < n {
		return nil, errFewStems
	}
	numbers := []int{d.On}
	for _, on := range shuffled(d, targets) {
		if on != d.On && len(numbers) < n {
			numbers = append(numbers, on)
		}
	}
	slices.Sort(numbers)
	return stemChoices(d.Clip, numbers), nil
}
