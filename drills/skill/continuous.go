package skill

import (
	"fmt"
	"math"
)

// Pointing is what is known of a listener who names a value on a continuous
// scale (octaves of frequency, dB of gain, octaves of a time constant): the
// bias, the spread and the lapse of the answers.
//
//	answer = truth + bias + Normal(0, spread), with chance lapse anywhere on the range
//
// It is a posterior on a grid: bias in 41 steps over a quarter of the range to
// each side, spread in 48 steps from a 200th of the range to a half, evenly in
// its logarithm, and lapses up to 0.2. The ends of the range are not modelled:
// answers that a listener would have given beyond them count as given there.
// The prior is flat, of the lapse exponential with mean 0.03: ours.
type Pointing struct {
	width  float64
	bias   []float64
	spread []float64
	lapse  []float64
	mass   []float64 // bias outermost, lapse innermost
	n      int
}

// NewPointing starts one for a range in the scale's unit. It panics where the
// range is none.
func NewPointing(width float64) *Pointing {
	if !(width > 0) {
		panic(fmt.Sprintf("skill: no scale %g wide", width))
	}
	p := &Pointing{width: width, bias: Range(-width/4, width/4, 41), lapse: []float64{0, .01, .02, .05, .1, .2}}
	for _, octaves := range Range(math.Log2(1./200), -1, 48) {
		p.spread = append(p.spread, width*math.Exp2(octaves))
	}
	prior := Exponential(.03)
	for range len(p.bias) * len(p.spread) {
		for _, l := range p.lapse {
			p.mass = append(p.mass, prior(l))
		}
	}
	normalise(p.mass)
	return p
}

// Update learns from an answer's signed error: answer less truth. An error
// that is no number, or wider than the range, is refused.
func (p *Pointing) Update(signedError float64) error {
	if !(math.Abs(signedError) <= p.width) {
		return fmt.Errorf("an error of %g does not fit a scale %g wide", signedError, p.width)
	}
	i := 0
	for _, bias := range p.bias {
		for _, spread := range p.spread {
			aimed := density((signedError-bias)/spread) / spread
			for _, lapse := range p.lapse {
				// No answer is quite impossible, or one could rule out all.
				p.mass[i] *= max(lapse/p.width+(1-lapse)*aimed, 1e-9/p.width)
				i++
			}
		}
	}
	normalise(p.mass)
	p.n++
	return nil
}

// Answers is how many it has learned from.
func (p *Pointing) Answers() int { return p.n }

// Bias of the answers, above 0 where they are too high.
func (p *Pointing) Bias() Marginal {
	return p.marginal(p.bias, func(i int) int { return i / len(p.lapse) / len(p.spread) })
}

// Spread is the standard deviation of the answers that are no lapses.
func (p *Pointing) Spread() Marginal {
	return p.marginal(p.spread, func(i int) int { return i / len(p.lapse) % len(p.spread) })
}

// Lapse is the share of the answers that have nothing to do with the truth.
func (p *Pointing) Lapse() Marginal {
	return p.marginal(p.lapse, func(i int) int { return i % len(p.lapse) })
}

func (p *Pointing) marginal(values []float64, of func(i int) int) Marginal {
	mass := make([]float64, len(values))
	for i, m := range p.mass {
		mass[of(i)] += m
	}
	return Marginal{values, mass}
}

// Within is the share of answers no further than distance from the truth, for
// a spread without bias or lapse: 2Φ(distance/spread) − 1.
func Within(distance, spread float64) float64 { return math.Erf(distance / spread / math.Sqrt2) }

// MedianError is the median of the absolute error for a spread without bias
// or lapse: 0.6745 of it.
func MedianError(spread float64) float64 { return probit(.75) * spread }
