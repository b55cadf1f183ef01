package scene

import (
	"math"
	"strconv"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// scaleOf rules a parameter: in Hz by twelfths of an octave, and thirds.
func scaleOf(p dsp.Param) ui.Scale {
	s := ui.Scale{Min: p.Min, Max: p.Max, Log: p.Scale == dsp.Log, Step: p.Step}
	switch {
	case p.Unit == "Hz" && s.Log:
		s.Step, s.Coarse = math.Pow(2, 1.0/12), 4
		s.Ticks = ui.LogTicks(p.Min, p.Max, short)
	case s.Log:
		s.Ticks = ui.LogTicks(p.Min, p.Max, short)
	case p.Scale == dsp.Whole:
		s.Step = 1
		s.Ticks = ui.LinearTicks(p.Min, p.Max, short)
	default:
		if s.Step == 0 {
			s.Step = fineStep(p.Max - p.Min)
		}
		s.Ticks = ui.LinearTicks(p.Min, p.Max, short)
	}
	return s
}

// fineStep is a power of ten about a two-hundredth of a range.
func fineStep(span float64) float64 { return math.Pow(10, math.Round(math.Log10(span/200))) }

// short is a number as it stands on a ruler: "2k".
func short(v float64) string {
	switch {
	case v == 0: // or −0, where it is rounded
		return "0"
	case v >= 1000:
		return strconv.FormatFloat(v/1000, 'g', 4, 64) + "k"
	case v < 0:
		return "−" + strconv.FormatFloat(-v, 'g', 4, 64)
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
