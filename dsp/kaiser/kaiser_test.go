package kaiser_test

import (
	"math"
	"testing"

	"strop/dsp/kaiser"
)

// Abramowitz & Stegun (1964), Table 9.8, e^−x·I0(x) (from memory).
func TestI0(t *testing.T) {
	for x, want := range map[float64]float64{
		0: 1, 1: 0.4657596077, 2: 0.3085083225, 5: 0.1835408126, 10: 0.1278333372,
	} {
		if got := math.Exp(-x) * kaiser.I0(x); math.Abs(got-want) > 5e-10 {
			t.Errorf("e^-%g·I0(%g) = %.10f, want %.10f", x, x, got, want)
		}
	}
	if got := kaiser.I0(-3); got != kaiser.I0(3) {
		t.Errorf("I0 is even, but I0(-3) = %g", got)
	}
}

func TestWindow(t *testing.T) {
	for _, beta := range []float64{0, 4.5, 9, 16} {
		if got := kaiser.Window(0, beta); got != 1 {
			t.Errorf("β %g: %g in the middle", beta, got)
		}
		if got, want := kaiser.Window(-1, beta), 1/kaiser.I0(beta); got != want {
			t.Errorf("β %g: %g at the end, want %g", beta, got, want)
		}
		if kaiser.Window(1.001, beta) != 0 || kaiser.Window(0.3, beta) != kaiser.Window(-0.3, beta) {
			t.Errorf("β %g: it ends at 1, and is even", beta)
		}
	}
}

// A low-pass of the length and β that Kaiser's formulas give has the stop
// band that they were asked for, to 1 dB, and within 3 % where it was asked to
// begin: they are approximations.
func TestStopBand(t *testing.T) {
	for _, wantDB := range []float64{50, 74, 100} {
		const edge = 0.1 // cycles per frame: the middle of the transition
		const wide = 0.04
		half := int(math.Ceil(kaiser.Length(wide, wantDB)-1) / 2)
		beta := kaiser.Beta(wantDB)
		worst := 0.0
		for f := edge + 1.03*wide/2; f < 0.5; f += 0.0005 {
			sum := 2 * edge
			for i := 1; i <= half; i++ {
				x := float64(i)
				sum += 2 * math.Sin(2*math.Pi*edge*x) / (math.Pi * x) * kaiser.Window(x/float64(half), beta) * math.Cos(2*math.Pi*f*x)
			}
			worst = max(worst, math.Abs(sum))
		}
		if gotDB := -20 * math.Log10(worst); gotDB < wantDB-1 || gotDB > wantDB+4 {
			t.Errorf("%g dB were asked for, and are %.1f", wantDB, gotDB)
		}
	}
}
