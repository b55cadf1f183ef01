package tools

import (
	"math"

	"strop/dsp"
)

// maxSearch is how often a value is tried before the nearest is taken.
const maxSearch = 10

// solve looks for the value at which read reads want, within tolerance or as
// near as it gets. What is read grows from the value mild to the value strong.
func solve(mild, strong, want, tolerance float64, read func(v float64) (float64, error)) (float64, error) {
	return solveFrom(guess{v: (mild + strong) / 2}, mild, strong, want, tolerance, read)
}

// guess is where to look first, and how much more is read for each step of 1
// towards the strong end there; 0 where that is not known.
type guess struct{ v, slope float64 }

// solveFrom is solve from a guess.
//
// Until both sides have been read it goes as far as the slope says and a third
// more, or halves what is left; then it is the Illinois form of the false
// position: M. Dowell, P. Jarratt, BIT 11 (1971) (from memory).
func solveFrom(g guess, mild, strong, want, tolerance float64, read func(v float64) (float64, error)) (float64, error) {
	under, over := math.NaN(), math.NaN() // what was read at either end, less what is wanted
	side := 0
	way := math.Copysign(1, strong-mild)
	v, best, off := limited(g.v, min(mild, strong), max(mild, strong)), 0.0, math.Inf(1)
	for range maxSearch {
		got, err := read(v)
		if err != nil {
			return 0, err
		}
		miss := got - want
		if math.Abs(miss) < off {
			best, off = v, math.Abs(miss)
		}
		from := v
		switch {
		case off <= tolerance:
			return best, nil
		case miss < 0:
			if mild, under = v, miss; side < 0 {
				over /= 2
			}
			side = -1
		default:
			if strong, over = v, miss; side > 0 {
				under /= 2
			}
			side = 1
		}
		v = (mild + strong) / 2
		switch {
		case !math.IsNaN(under) && !math.IsNaN(over):
			v = mild + (strong-mild)*under/(under-over)
		case g.slope > 0:
			v = limited(from-way*miss/g.slope*4/3, min(mild, strong), max(mild, strong))
		}
	}
	return best, nil
}

// solved is the processor that build makes of the value at which read reads
// want of it, as new.
func solved(mild, strong, want, tolerance float64, build func(float64) (dsp.Processor, error), read func(dsp.Processor) float64) (dsp.Processor, error) {
	v, err := solve(mild, strong, want, tolerance, func(v float64) (float64, error) {
		p, err := build(v)
		if err != nil {
			return 0, err
		}
		return read(p), nil
	})
	if err != nil {
		return nil, err
	}
	return build(v)
}
