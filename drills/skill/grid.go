package skill

import (
	"fmt"
	"math"
	"slices"
)

// Axes are the values a grid is made of, each ascending, thresholds evenly
// spaced: levels that can be presented, and what the listener's threshold,
// slope and lapse may be.
type Axes struct {
	Level, Threshold, Slope, Lapse []float64
}

// Range is n values from lo to hi, evenly spaced.
func Range(lo, hi float64, n int) []float64 {
	values := make([]float64, n)
	for i := range values {
		values[i] = lo + (hi-lo)*float64(i)/float64(n-1)
	}
	return values
}

// Grid holds the tables that posteriors over threshold × slope × lapse share:
// for each level and each triple the chance of a right answer, and how little
// that answer would tell. It never changes.
type Grid struct {
	axes    Axes
	inner   int         // slope × lapse
	right   [][]float64 // by level, then triple: threshold outermost, lapse innermost
	unknown [][]float64 // entropy of the answer itself, nats
}

// NewGrid fills the tables, 16 bytes for each level and triple. It panics
// where an axis is empty or not ascending, or where no triple allows an
// answer at a level: such an answer could not be learned from.
func NewGrid(form Form, axes Axes) *Grid {
	for _, axis := range [][]float64{axes.Level, axes.Threshold, axes.Slope, axes.Lapse} {
		if len(axis) == 0 || !slices.IsSorted(axis) {
			panic(fmt.Sprintf("skill: no axis %v", axis))
		}
	}
	if !evenly(axes.Threshold) {
		panic(fmt.Sprintf("skill: thresholds %v are not evenly spaced", axes.Threshold))
	}
	g := &Grid{axes: axes, inner: len(axes.Slope) * len(axes.Lapse)}
	for _, level := range axes.Level {
		right := make([]float64, 0, g.Size())
		for _, threshold := range axes.Threshold {
			for _, slope := range axes.Slope {
				for _, lapse := range axes.Lapse {
					right = append(right, form(level, threshold, slope, lapse))
				}
			}
		}
		if lo, hi := slices.Min(right), slices.Max(right); !(lo >= 0 && lo < 1 && hi > 0 && hi <= 1) {
			panic(fmt.Sprintf("skill: at level %g the chance of a right answer runs from %g to %g", level, lo, hi))
		}
		g.right = append(g.right, right)
		g.unknown = append(g.unknown, entropies(right))
	}
	return g
}

// evenly reports whether values are evenly spaced, to within rounding.
func evenly(axis []float64) bool {
	last := len(axis) - 1
	for i, v := range axis {
		even := axis[0] + (axis[last]-axis[0])*float64(i)/float64(max(last, 1))
		if math.Abs(v-even) > 1e-9*(axis[last]-axis[0]) {
			return false
		}
	}
	return true
}

// Size is the number of triples.
func (g *Grid) Size() int { return len(g.axes.Threshold) * g.inner }

// Levels are the levels that can be presented; not to be altered.
func (g *Grid) Levels() []float64 { return g.axes.Level }

// Nearest is the index of the level closest to x.
func (g *Grid) Nearest(x float64) int {
	levels := g.axes.Level
	i, _ := slices.BinarySearch(levels, x)
	if i == len(levels) || i > 0 && x-levels[i-1] < levels[i]-x {
		i--
	}
	return i
}

func entropies(chances []float64) []float64 {
	out := make([]float64, len(chances))
	for i, p := range chances {
		out[i] = binaryEntropy(p)
	}
	return out
}

// binaryEntropy of an answer that is right with chance p, in nats.
func binaryEntropy(p float64) float64 { return -xlogx(p) - xlogx(1-p) }

func xlogx(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return p * math.Log(p)
}
