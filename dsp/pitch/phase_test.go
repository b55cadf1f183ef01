package pitch

import (
	"math"
	"testing"
)

// The polynomials against the library, all round the circle.
func TestPhases(t *testing.T) {
	for i := range 100001 {
		turns := float64(i)/100000 - 0.5
		wantSin, wantCos := math.Sincos(2 * math.Pi * turns)
		sin, cos := sincosOf(turns)
		if d := max(math.Abs(sin-wantSin), math.Abs(cos-wantCos)); d > 1e-8 {
			t.Fatalf("sine and cosine of %g turns are off by %.2g", turns, d)
		}
		for _, r := range []float64{1e-200, 1, 1e100} {
			want := math.Atan2(r*wantSin, r*wantCos) / (2 * math.Pi)
			if d := math.Abs(wrapped(turnOf(r*wantCos, r*wantSin) - want)); d > 1e-8 {
				t.Fatalf("the phase of a number at %g turns is off by %.2g", turns, d)
			}
		}
	}
}
