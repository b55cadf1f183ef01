package scene

import (
	"math"
	"slices"
	"strconv"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// rulerFor is the ruler that a tool is answered on: the range of its first
// parameter, with the bands of a way to answer that offers choices.
func rulerFor(t drills.Tool, r drills.Rung) ui.Ruler {
	param := t.Params[0]
	return ui.Ruler{
		ID: "ruler", Label: param.Name + ", " + param.Unit, Scale: scaleOf(param), Bands: bandsOf(param, r),
		Accepts: "0123456789.,kK", Tip: "Arrow keys and the wheel move by one step, with Shift by a large one. A value can be typed.",
	}
}

// scaleOf rules a parameter: in Hz by twelfths of an octave, and thirds.
func scaleOf(p dsp.Param) ui.Scale {
	s := ui.Scale{Min: p.Min, Max: p.Max, Log: p.Scale == dsp.Log}
	if s.Log {
		s.Step, s.Coarse = math.Pow(2, 1.0/12), 4
		s.Ticks = ui.LogTicks(p.Min, p.Max, short)
	}
	return s
}

// short is a number as it stands on a ruler: "2k".
func short(v float64) string {
	if v >= 1000 {
		return strconv.FormatFloat(v/1000, 'g', 4, 64) + "k"
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}

// bandsOf are the choices as stretches that meet halfway; the outer ones reach
// as far outwards as inwards.
func bandsOf(p dsp.Param, r drills.Rung) []ui.Band {
	n := len(r.Choices)
	if n < 2 {
		return nil
	}
	edges := make([]float64, n+1) // as places along the range
	for i := range n - 1 {
		edges[i+1] = (p.Place(r.Choices[i].Guess.Get(p)) + p.Place(r.Choices[i+1].Guess.Get(p))) / 2
	}
	edges[0] = max(0, 2*p.Place(r.Choices[0].Guess.Get(p))-edges[1])
	edges[n] = min(1, 2*p.Place(r.Choices[n-1].Guess.Get(p))-edges[n-1])
	bands := make([]ui.Band, n)
	for i, c := range r.Choices {
		bands[i] = ui.Band{Lo: p.At(edges[i]), Hi: p.At(edges[i+1]), Value: c.Guess.Get(p), Label: c.Label}
	}
	return bands
}

// valueText is a value as the way to answer calls it.
func valueText(t drills.Tool, r drills.Rung, v float64) string {
	param := t.Params[0]
	i := slices.IndexFunc(r.Choices, func(c drills.Choice) bool { return c.Guess.Get(param) == v })
	switch {
	case i >= 0:
		return r.Choices[i].Label
	case param.Unit == "Hz":
		return dsp.FormatHz(v)
	}
	return strconv.FormatFloat(v, 'g', 3, 64) + " " + param.Unit
}
