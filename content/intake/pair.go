package intake

import (
	"cmp"
	"context"
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/measure"
)

// Pair is how a stem lies to the first of those on the same source.
//
//	DelayMS     by which it comes later
//	DistanceCM  the way of sound in that time, at 343 m/s
//	Inverted    its polarity is turned over
//	SumDB       level of both together over the sum of their powers: 3 dB for
//	            two that are the same, −Inf for one that cancels the other
//	Agree Of    in how many of the places that were compared the delay is the same
//
// Where Agree is not more than half of Of, no common delay was found: delay,
// distance and polarity are 0.
type Pair struct {
	First      string        `json:"first"`
	Other      string        `json:"other"`
	DelayMS    float64       `json:"delayMS"`
	DistanceCM float64       `json:"distanceCM"`
	Inverted   bool          `json:"inverted"`
	SumDB      measure.Level `json:"sumDB"`
	Agree      int           `json:"agree"`
	Of         int           `json:"of"`
}

// Found reports whether the delay is to be believed.
func (p Pair) Found() bool { return 2*p.Agree > p.Of }

// How pairs are compared. Our own choices, but for the speed of sound.
const (
	pairPlaces = 7
	pairS      = 2.0    // each
	pairReachS = 0.1    // the greatest delay
	pairSameS  = 0.0001 // delays that agree
	soundMPerS = 343.0  // dry air at 20 °C
)

// pairs compares every stem of a pair with the first of it.
func (c *check) pairs(ctx context.Context) (all []Pair, err error) {
	firsts := map[string]int{}
	for i, s := range c.sheet.Stems {
		first, known := firsts[s.Pair]
		switch {
		case s.Pair == "":
		case !known:
			firsts[s.Pair] = i
		default:
			p, err := c.pair(ctx, first, i)
			if err != nil {
				return nil, err
			}
			all = append(all, p)
		}
	}
	return all, nil
}

func (c *check) pair(ctx context.Context, first, other int) (Pair, error) {
	p := Pair{First: c.sheet.Stems[first].Name, Other: c.sheet.Stems[other].Name, SumDB: silence}
	n, gap := int(pairS*c.sheet.RateHz), int(pairReachS*c.sheet.RateHz)
	var x, y []float64 // all places in a row, with nothing between them
	var each []measure.Alignment
	for _, second := range c.loudPlaces(first, other) {
		start := int64(float64(second) * c.sheet.RateHz)
		here, err := c.mono(ctx, first, start, n)
		if err != nil {
			return p, err
		}
		there, err := c.mono(ctx, other, start, n)
		if err != nil {
			return p, err
		}
		each = append(each, measure.Align(here, there))
		x, y = append(append(x, here...), make([]float64, gap)...), append(append(y, there...), make([]float64, gap)...)
	}
	if len(each) > 0 {
		p.SumDB = sumDB(x, y)
		p.settle(measure.Align(x, y), each, c.sheet.RateHz)
	}
	return p, nil
}

// sumDB is the power of a sum over the sum of the powers.
func sumDB(x, y []float64) measure.Level {
	both, apart := 0.0, 0.0
	for i := range x {
		both += (x[i] + y[i]) * (x[i] + y[i])
		apart += x[i]*x[i] + y[i]*y[i]
	}
	return measure.Level(dsp.PowerToDB(both / apart))
}

// settle takes the delay and polarity of all places together, and counts those
// that agree with it.
func (p *Pair) settle(all measure.Alignment, each []measure.Alignment, rateHz float64) {
	p.Of = len(each)
	delayS := all.DelayFrames / rateHz
	p.Inverted, p.DelayMS, p.DistanceCM = all.Inverted, 1000*delayS, 100*soundMPerS*delayS
	for _, a := range each {
		if a.Inverted == all.Inverted && math.Abs(a.DelayFrames-all.DelayFrames) <= pairSameS*rateHz && math.Abs(delayS) <= pairReachS {
			p.Agree++
		}
	}
	if !p.Found() {
		p.Inverted, p.DelayMS, p.DistanceCM = false, 0, 0
	}
}

func (c *check) mono(ctx context.Context, stem int, start int64, n int) ([]float64, error) {
	frames, err := c.m.Region(ctx, stem, start, n)
	if err != nil {
		return nil, err
	}
	return measure.Mono(frames), nil
}

// loudPlaces are the seconds at which both stems are loudest together, apart
// from each other.
func (c *check) loudPlaces(first, other int) (seconds []int) {
	x, y := c.found[first].seconds, c.found[other].seconds
	order := make([]int, max(0, min(len(x), len(y))-1))
	for i := range order {
		order[i] = i
	}
	together := func(i int) float64 { return (x[i] + x[i+1]) * (y[i] + y[i+1]) }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(together(b), together(a)) })
	for _, i := range order {
		near := func(k int) bool { return max(i-k, k-i) < 2 }
		if len(seconds) < pairPlaces && together(i) > 0 && !slices.ContainsFunc(seconds, near) {
			seconds = append(seconds, i)
		}
	}
	return seconds
}
