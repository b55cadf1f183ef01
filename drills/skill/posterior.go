package skill

import (
	"math"
	"slices"
)

// Posterior is what is known of a listener after the answers so far: a
// probability for each triple of threshold, slope and lapse on a grid. It
// assumes nothing but the form of the grid and its prior.
//
// Sums run in a fixed order, so that the same answers give the same posterior
// everywhere to within rounding. Cost on the grid of a Trainer: an update and
// a placement together some 5 µs, an expected entropy of every level some
// 100 µs; 30 KB each besides the shared grid.
//
// Source: A. B. Watson, QUEST+, Journal of Vision 17(3):10 (2017); its idea
// for two parameters: L. L. Kontsevich & C. W. Tyler, Bayesian adaptive
// estimation of psychometric slope and threshold, Vision Research 39 (1999).
type Posterior struct {
	grid  *Grid
	mass  []float64
	prior []float64 // what Rest returns to; never altered
	aimed int       // level at or below the last Aim
	spare []float64 // where Drift writes, then taken for mass
}

// Weight is how likely a value of a parameter is beforehand, up to a factor.
type Weight func(value float64) float64

// Uniform holds every value on the grid for as likely.
func Uniform(float64) float64 { return 1 }

// Normal is a normal prior.
func Normal(mean, deviation float64) Weight {
	return func(v float64) float64 { return density((v - mean) / deviation) }
}

// Exponential is an exponential prior from 0 up.
func Exponential(mean float64) Weight {
	return func(v float64) float64 { return math.Exp(-v / mean) }
}

// Prior is the posterior before the first answer. Threshold, slope and lapse
// are taken for independent.
func (g *Grid) Prior(threshold, slope, lapse Weight) *Posterior {
	mass := make([]float64, 0, g.Size())
	for _, t := range g.axes.Threshold {
		for _, s := range g.axes.Slope {
			for _, l := range g.axes.Lapse {
				mass = append(mass, threshold(t)*slope(s)*lapse(l))
			}
		}
	}
	normalise(mass)
	return &Posterior{grid: g, mass: mass, prior: slices.Clone(mass), aimed: len(g.axes.Level) / 2}
}

var defaultSlope, defaultLapse = Normal(2.75, 1.2), Exponential(.04)

// DefaultPrior expects a threshold within 6 dB (one standard deviation) of a
// guess, a slope of 2.75 ± 1.2, and some lapses, mean 0.04: assumptions, to be
// replaced by what the first listeners show. Fewer lapses expected would make
// the thresholds of careless listeners too high, and too sure.
func DefaultPrior(g *Grid, guessDB float64) *Posterior {
	return g.Prior(Normal(guessDB, 6), defaultSlope, defaultLapse)
}

// Clone is an independent copy.
func (p *Posterior) Clone() *Posterior {
	return &Posterior{grid: p.grid, mass: slices.Clone(p.mass), prior: p.prior, aimed: p.aimed}
}

// Grid is the one it stands on.
func (p *Posterior) Grid() *Grid { return p.grid }

// Update learns from an answer at a level of the grid, by its index.
func (p *Posterior) Update(level int, right bool) { scale(p.mass, 1/p.weigh(level, right)) }

// weigh multiplies each mass by how likely the answer was, and sums.
func (p *Posterior) weigh(level int, right bool) float64 {
	if right {
		return weigh(p.mass, p.grid.right[level], 0, 1)
	}
	return weigh(p.mass, p.grid.right[level], 1, -1)
}

// weigh multiplies each mass by offset + sign·chance and sums, in the strands
// of total.
func weigh(mass, chance []float64, offset, sign float64) float64 {
	var s0, s1, s2, s3 float64
	chance = chance[:len(mass)]
	i := 0
	for ; i+4 <= len(mass); i += 4 {
		mass[i] *= offset + sign*chance[i]
		mass[i+1] *= offset + sign*chance[i+1]
		mass[i+2] *= offset + sign*chance[i+2]
		mass[i+3] *= offset + sign*chance[i+3]
		s0 += mass[i]
		s1 += mass[i+1]
		s2 += mass[i+2]
		s3 += mass[i+3]
	}
	for ; i < len(mass); i++ {
		mass[i] *= offset + sign*chance[i]
		s0 += mass[i]
	}
	return s0 + s1 + (s2 + s3)
}

// Predict is the chance of a right answer at a level of the grid.
func (p *Posterior) Predict(level int) float64 { return dot(p.mass, p.grid.right[level]) }

// Entropy is how much is not known, in nats.
func (p *Posterior) Entropy() float64 {
	sum := 0.0
	for _, m := range p.mass {
		sum -= xlogx(m)
	}
	return sum
}

// ExpectedEntropy is what the entropy will be on average after an answer at a
// level of the grid, written as the entropy now less what the answer tells:
//
//	H − [h(Σ m·p) − Σ m·h(p)],  h the entropy of one answer
func (p *Posterior) ExpectedEntropy(level int) float64 { return p.Entropy() - p.tells(level) }

// tells is the mutual information of an answer and the parameters, in nats.
func (p *Posterior) tells(level int) float64 {
	return binaryEntropy(p.Predict(level)) - dot(p.mass, p.grid.unknown[level])
}

// MostTelling is the level with the least expected entropy; the lowest of
// equals.
func (p *Posterior) MostTelling() int { return p.mostTelling(1)[0] }

// mostTelling are the n levels with the least expected entropy, best first.
func (p *Posterior) mostTelling(n int) []int {
	levels := make([]int, len(p.grid.right))
	told := make([]float64, len(levels))
	for i := range levels {
		levels[i], told[i] = i, p.tells(i)
	}
	slices.SortStableFunc(levels, func(a, b int) int { return compareDown(told[a], told[b]) })
	return levels[:min(n, len(levels))]
}

// compareDown orders the greater first.
func compareDown(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

// Aim is the level, between those of the grid, at which the predicted share
// right is target; an end of the grid where no level has it. The form must
// rise with the level. It looks first where it found the last one.
func (p *Posterior) Aim(target float64) float64 {
	levels := p.grid.axes.Level
	last := len(levels) - 1
	lo := min(p.aimed, last)
	below := p.Predict(lo)
	hi, above := lo, below
	for ; below > target && lo > 0; below = p.Predict(lo) {
		hi, above = lo, below
		lo--
	}
	for ; above < target && hi < last; above = p.Predict(hi) {
		lo, below = hi, above
		hi++
	}
	p.aimed = lo
	if lo == hi || above <= below {
		return levels[lo]
	}
	part := (target - below) / (above - below)
	return levels[lo] + (levels[hi]-levels[lo])*min(max(part, 0), 1)
}

// Triple is one value of each parameter.
type Triple struct {
	Threshold, Slope, Lapse float64
}

// Mode is the most likely triple and its probability; the first of equals.
func (p *Posterior) Mode() (Triple, float64) {
	best := 0
	for i, m := range p.mass {
		if m > p.mass[best] {
			best = i
		}
	}
	a, lapses := p.grid.axes, len(p.grid.axes.Lapse)
	return Triple{a.Threshold[best/p.grid.inner], a.Slope[best/lapses%len(a.Slope)], a.Lapse[best%lapses]}, p.mass[best]
}

// Threshold is what is known of the threshold alone, whatever the slope and
// the lapse.
func (p *Posterior) Threshold() Marginal {
	return p.marginal(p.grid.axes.Threshold, func(i int) int { return i / p.grid.inner })
}

// Slope is what is known of the slope alone.
func (p *Posterior) Slope() Marginal {
	lapses, slopes := len(p.grid.axes.Lapse), len(p.grid.axes.Slope)
	return p.marginal(p.grid.axes.Slope, func(i int) int { return i / lapses % slopes })
}

// Lapse is what is known of the lapse alone.
func (p *Posterior) Lapse() Marginal {
	lapses := len(p.grid.axes.Lapse)
	return p.marginal(p.grid.axes.Lapse, func(i int) int { return i % lapses })
}

func (p *Posterior) marginal(values []float64, of func(i int) int) Marginal {
	mass := make([]float64, len(values))
	for i, m := range p.mass {
		mass[of(i)] += m
	}
	return Marginal{values, mass}
}

// normalise makes mass sum to 1. There is always some: NewGrid refuses levels
// where an answer is impossible, and no prior weight is 0.
func normalise(mass []float64) { scale(mass, 1/total(mass)) }

// total sums in four strands, in a fixed order: one addition need not wait for
// the last.
func total(a []float64) float64 {
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s0 += a[i]
		s1 += a[i+1]
		s2 += a[i+2]
		s3 += a[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i]
	}
	return s0 + s1 + (s2 + s3)
}

func scale(mass []float64, by float64) {
	for i := range mass {
		mass[i] *= by
	}
}

// dot is the sum of products, in four strands like total.
func dot(a, b []float64) float64 {
	var s0, s1, s2, s3 float64
	b = b[:len(a)]
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + (s2 + s3)
}
