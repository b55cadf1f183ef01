package saturation

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
)

// bent is what c gives for the inputs u in turn, the means of f themselves.
func bent(c curve, u ...float64) []float64 {
	buf := make([]dsp.Frame, len(u))
	for i, x := range u {
		buf[i] = dsp.Frame{x, -x}
	}
	c.bend(buf)
	out, before := make([]float64, len(u)), 0.0
	for i, x := range u {
		out[i] = buf[i][0] + (x+before)/2
		before = x
	}
	return out
}

// First-order means over 0, .5, 1.5, 1.5, −2, .3, computed independently from
// (F(b) − F(a))/(b − a) of Parker, Zavalishin & Le Bivic (2016).
func TestMeansOfASequence(t *testing.T) {
	for name, c := range map[string]struct {
		curve curve
		want  []float64
		tol   float64
	}{
		"hard clip": {&hardClip{}, []float64{0, 0.25, 0.875, 1, -0.142857143, -0.632608696}, 1e-9},
		"tanh":      {newTanhCurve(0), []float64{0, 0.24022901, 0.73532566, 0.90514825, -0.13416074, -0.55680956}, 1e-8},
	} {
		for i, got := range bent(c.curve, 0, 0.5, 1.5, 1.5, -2, 0.3) {
			if !(math.Abs(got-c.want[i]) <= c.tol) {
				t.Errorf("%s: value %d is %.9f, want %.9f", name, i, got, c.want[i])
			}
		}
	}
}

// formulas are the curves as they are published, apart from the code that
// averages them.
var formulas = map[string]struct {
	curve func() curve
	f     func(u float64) float64
}{
	"hard clip": {func() curve { return &hardClip{} }, func(u float64) float64 { return min(max(u, -1), 1) }},
	"cubic": {func() curve { return &softClip{} }, func(u float64) float64 {
		if math.Abs(u) > 1 {
			return math.Copysign(2.0/3, u)
		}
		return u - u*u*u/3
	}},
	"tanh":   {func() curve { return newTanhCurve(0) }, math.Tanh},
	"root":   {func() curve { return newRootCurve() }, func(u float64) float64 { return u / math.Sqrt(1+u*u) }},
	"biased": {func() curve { return newTanhCurve(0.3) }, func(u float64) float64 { return (math.Tanh(u+math.Atanh(0.3)) - 0.3) / (1 - 0.09) }},
}

// mean is the mean of f from a to b by Gauss and Legendre's rule of 5 points
// on 64 pieces.
func mean(f func(float64) float64, a, b float64) (sum float64) {
	const pieces = 64
	w := (b - a) / pieces
	for i := range pieces {
		m := a + (float64(i)+0.5)*w
		sum += 128.0 / 225 * f(m)
		for _, p := range [][2]float64{{0.5384693101056831, 0.47862867049936647}, {0.9061798459386640, 0.23692688505618908}} {
			sum += p[1] * (f(m-p[0]*w/2) + f(m+p[0]*w/2))
		}
	}
	return sum / 2 / pieces
}

// Every mean equals numerical integration of the published curve: for steps
// large and small, across every corner, in both channels.
func TestMeansEqualIntegration(t *testing.T) {
	for name, c := range formulas {
		worst, r := 0.0, rand.New(rand.NewPCG(1, 1))
		for range 2000 {
			a := []float64{-1, 1, 0, -20, 20, 3 * r.NormFloat64()}[r.IntN(6)] + 1e-3*r.NormFloat64()
			b := a + math.Pow(10, -9*r.Float64())*r.NormFloat64()
			buf := []dsp.Frame{{a, -a}, {b, -b}}
			c.curve().bend(buf)
			for side, sign := range []float64{1, -1} {
				f := func(u float64) float64 { return c.f(sign*u) - sign*u }
				worst = max(worst, math.Abs(buf[1][side]-mean(f, a, b)))
			}
		}
		t.Logf("%s: worst %.1e", name, worst)
		tol := 5e-9
		if name == "hard clip" {
			tol = 1e-6 // integration across a corner is no better
		}
		if !(worst < tol) {
			t.Errorf("%s: a mean is %.1e from the integral", name, worst)
		}
	}
}

// The polynomials' own function, the slope of ln cosh, is tanh to 2e-9.
func TestLogCosh(t *testing.T) {
	table := newLogCosh()
	for i := range 100_000 {
		u := 25 * (float64(i)/50_000 - 1)
		if d := math.Abs(table.slope(u) - math.Tanh(u)); !(d < 2e-9) {
			t.Fatalf("slope at %g is %.1e from tanh", u, d)
		}
		if d := math.Abs(table.at(u) - math.Log(math.Cosh(u))); !(d < 1e-10) {
			t.Fatalf("value at %g is %.1e from ln cosh", u, d)
		}
	}
	if got := table.at(1e5); math.Abs(got-(1e5-math.Ln2)) > 1e-10 {
		t.Errorf("at 1e5: %g", got)
	}
}

// Steps so small that a quotient of antiderivatives would be noise.
func TestTinySteps(t *testing.T) {
	for name, c := range formulas {
		for _, u := range []float64{1e-9, 0.3, 1, 1 + 1e-9, 3, 50} {
			for _, step := range []float64{0, 1e-300, 1e-15, 1e-12, 1e-7, 0.99e-5, 1.01e-5} {
				buf := []dsp.Frame{{u, -u}, {u + step, -u - step}}
				c.curve().bend(buf)
				want := c.f(u+step/2) - (u + step/2)
				if d := math.Abs(buf[1][0] - want); !(d < 2e-6*max(step/1e-5, 1e-3)) {
					t.Errorf("%s at %g, step %g: %.12f, want %.12f", name, u, step, buf[1][0], want)
				}
			}
		}
	}
}

// No curve leaves its input larger, but for the later half of the biased tanh:
// by 1.9 dB at most, at the greatest asymmetry.
func TestCurvesNeverRise(t *testing.T) {
	for name, c := range formulas {
		made, limit := c.curve(), 1+1e-9
		if name == "biased" {
			made, limit = newTanhCurve(asymmetry.Max), dsp.FromDB(1.9)
		}
		most := 0.0
		for u := 0.01; u < 100; u *= 1.01 {
			buf := []dsp.Frame{{u, -u}, {u, -u}}
			made.bend(buf)
			most = max(most, (buf[1][0]+u)/u, (buf[1][1]-u)/-u)
		}
		if !(most <= limit) || name == "biased" && !(most > dsp.FromDB(1.88)) {
			t.Errorf("%s: the output is up to %.3f dB above the input", name, dsp.ToDB(most))
		}
	}
}
