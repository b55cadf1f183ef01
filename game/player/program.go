package player

import (
	"errors"
	"fmt"
	"math"

	"strop/dsp"
)

// MinLoopS is the shortest loop that is played, in seconds.
// Source: ITU-R BS.1534-3 (2015), loops of at least 500 ms.
const MinLoopS = 0.5

// A Program is one loop in several versions, its sides: the same passage,
// untouched, changed, as the listener would have it. All sides are of one
// length and in step: frame i of one is frame i of the others.
//
// Once played, a Program and its frames are never altered.
type Program struct {
	RateHz   float64
	Sides    [][]dsp.Frame
	Seamless bool // the end runs into the start by itself: no fade at the seam
}

// Frames is the length of the loop, 0 where there are no sides.
func (p *Program) Frames() int {
	if len(p.Sides) == 0 {
		return 0
	}
	return len(p.Sides[0])
}

// Validate reports what cannot be played: no side, sides of unequal length,
// a loop under MinLoopS, a rate outside the range of package dsp, a sample
// that is no finite number.
func (p *Program) Validate() error {
	n := p.Frames()
	switch {
	case !(p.RateHz >= dsp.MinRateHz && p.RateHz <= dsp.MaxRateHz):
		return fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", p.RateHz, dsp.MinRateHz, dsp.MaxRateHz)
	case len(p.Sides) == 0:
		return errors.New("the loop has no side to play")
	case float64(n) < MinLoopS*p.RateHz:
		return fmt.Errorf("a loop of %.0f ms is too short; it needs %.0f ms", 1000*float64(n)/p.RateHz, 1000*MinLoopS)
	}
	for i, side := range p.Sides {
		if len(side) != n {
			return fmt.Errorf("side %d has %d frames, side 0 has %d", i, len(side), n)
		}
		if !finite(side) {
			return fmt.Errorf("side %d holds a sample that is no finite number", i)
		}
	}
	return nil
}

// check reports why a side cannot be played at a rate.
func (p *Program) check(rateHz float64, side int) error {
	if p == nil {
		return errors.New("there is no loop to play")
	}
	if p.RateHz != rateHz {
		return fmt.Errorf("the loop is at %g Hz, the sound at %g Hz; resample it first", p.RateHz, rateHz)
	}
	if side < 0 || side >= len(p.Sides) {
		return fmt.Errorf("there is no side %d; the loop has %d", side, len(p.Sides))
	}
	return p.Validate()
}

// finite reports whether every sample is: x − x is 0, and NaN for what is not.
func finite(side []dsp.Frame) bool {
	var l, r float64
	for _, f := range side {
		l += f[0] - f[0]
		r += f[1] - f[1]
	}
	return !math.IsNaN(l + r)
}
