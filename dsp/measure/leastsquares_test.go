package measure

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/optimize"
)

// Rosenbrock's valley: the minimum is at (1, 1), from his usual start and
// from a corner of the bounds.
func TestLeastSquaresInAValley(t *testing.T) {
	l := leastSquares{
		residuals: func(r, p []float64) { r[0], r[1] = 10*(p[1]-p[0]*p[0]), 1-p[0] },
		count:     2, low: []float64{-5, -5}, high: []float64{5, 5}, soft: 1e6,
	}
	for _, start := range [][]float64{{-1.2, 1}, {5, -5}} {
		p, loss := l.from(start)
		near(t, "x", p[0], 1, 1e-6)
		near(t, "y", p[1], 1, 1e-6)
		near(t, "loss", loss, 0, 1e-9)
	}
}

// Against gonum's Nelder–Mead on the same loss: an exponential with three bad
// points among forty.
func TestLeastSquaresAgainstGonum(t *testing.T) {
	noise := whiteSamples(4, 40)
	residuals := func(r, p []float64) {
		for i := range r {
			x := float64(i) / 8
			y := 3*math.Exp(-x/1.7) + 0.5 + 0.01*noise[i]
			if i%15 == 7 {
				y += 4
			}
			r[i] = p[0]*math.Exp(-x/p[1]) + p[2] - y
		}
	}
	l := leastSquares{residuals: residuals, count: 40, low: []float64{0, 0.1, -10}, high: []float64{10, 10, 10}, soft: 0.02}
	got, loss := l.from([]float64{1, 1, 0})
	r := make([]float64, 40)
	want, err := optimize.Minimize(optimize.Problem{Func: func(p []float64) float64 { return l.at(r, p) }}, []float64{1, 1, 0},
		&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-14, Iterations: 2000}}, &optimize.NelderMead{})
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"height", "time", "floor"} {
		near(t, name, got[i], want.X[i], 1e-4)
	}
	near(t, "loss", loss, want.F, 1e-8)
	near(t, "time of the true curve", got[1], 1.7, 0.05)
}

// A minimum outside the bounds is looked for on them.
func TestLeastSquaresStaysInside(t *testing.T) {
	l := leastSquares{
		residuals: func(r, p []float64) { r[0], r[1] = p[0]+3, p[1]-2 },
		count:     2, low: []float64{0, 0}, high: []float64{9, 9}, soft: 1,
	}
	p, _ := l.from([]float64{5, 5})
	near(t, "at the bound", p[0], 0, 0)
	near(t, "free", p[1], 2, 1e-6)
}
