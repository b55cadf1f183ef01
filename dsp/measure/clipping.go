package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

// Clipping is where a clip stands at a rail.
//
//	RailDBFS  the rail where most of it is, below or above the middle, in
//	          either channel; −Inf where there is none
//	SharePct  share of all samples that are at a rail, of both channels
//	Runs      frames in a row with a channel at its rail, in order; their size
//	          is the rail in dBFS
type Clipping struct {
	RailDBFS, SharePct float64
	Runs               []Event
}

// shortestRun is how many samples in a row must be at the rail: the top of a
// wave between two samples makes two alike.
const shortestRun = 3

// ClippingOf finds what was cut off, also if it was turned down afterwards: 3
// samples or more in a row that are the extreme of their channel on that side,
// to a millionth, and that the waveform reaches and leaves in a corner. Words
// of a few bits make rows of equal samples on the top of any slow wave; that
// row is no corner, because its neighbours lie a few steps of the word off.
//
// What was filtered, mixed or coded after it was clipped has no such rows any
// more, and is not found. A square wave is found.
//
// Source: common practice, no source.
func ClippingOf(buf []dsp.Frame) Clipping {
	marked := make([]float64, len(buf)) // the rail that a frame is at, 0 for none
	c, most, samples := Clipping{RailDBFS: math.Inf(-1)}, 0, 0
	for side := range 2 {
		x, step := make([]float64, len(buf)), 0.0
		for i := range buf {
			x[i] = buf[i][side]
		}
		step = smallestStep(x)
		for _, sign := range [2]float64{1, -1} {
			n, rail := markRail(marked, x, sign, step)
			samples += n
			if n > most {
				most, c.RailDBFS = n, dsp.ToDB(rail)
			}
		}
	}
	c.SharePct = 100 * float64(samples) / float64(2*max(len(buf), 1))
	c.Runs = runsOf(marked)
	return c
}

// smallestStep is the least difference there is between two samples in a row.
func smallestStep(x []float64) float64 {
	step := math.Inf(1)
	for i := 1; i < len(x); i++ {
		if d := math.Abs(x[i] - x[i-1]); d > 0 && d < step {
			step = d
		}
	}
	return step
}

// markRail marks the runs at the extreme of sign·x, and tells how many samples
// they have.
func markRail(marked, x []float64, sign, step float64) (samples int, rail float64) {
	for _, v := range x {
		rail = max(rail, sign*v)
	}
	if rail == 0 {
		return 0, 0
	}
	near := rail * (1 - 1e-6)
	for i := 0; i < len(x); i++ {
		from := i
		for i < len(x) && sign*x[i] >= near {
			i++
		}
		if i-from >= shortestRun && corner(x, from, i, sign*rail, step) {
			samples += i - from
			for k := from; k < i; k++ {
				marked[k] = max(marked[k], rail)
			}
		}
	}
	return samples, rail
}

// corner reports whether x leaves the rail, before from and from to on, faster
// than a parabola would that is flat for as many samples by rounding. That has
// fallen by no more than 5.4 steps two samples off a row of three, and by less
// off a longer one.
func corner(x []float64, from, to int, rail, step float64) bool {
	const steps = 12 // on both sides together
	return fall(x[max(0, from-2):from], rail)+fall(x[to:min(len(x), to+2)], rail) > steps*step
}

// fall is how far the farthest of x lies from the rail.
func fall(x []float64, rail float64) (most float64) {
	for _, v := range x {
		most = max(most, math.Abs(rail-v))
	}
	return most
}

// runsOf are the rows of marks above 0.
func runsOf(marked []float64) (runs []Event) {
	for i := 0; i < len(marked); i++ {
		from := i
		for i < len(marked) && marked[i] > 0 {
			i++
		}
		if i > from {
			runs = append(runs, Event{from, i - from, dsp.ToDB(slices.Max(marked[from:i]))})
		}
	}
	return runs
}
