package fault

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The transform is the sum that defines it, and what blocks lose cancels
// (Princen & Bradley 1986).
func TestMDCT(t *testing.T) {
	const n = 16
	r, m := rand.New(rand.NewPCG(1, 1)), newMDCT(n)
	x := make([]float64, 4*n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	got, back, sum := make([]float64, n), make([]float64, 2*n), make([]float64, 4*n)
	for at := 0; at+2*n <= len(x); at += n {
		m.forward(got, x[at:at+2*n])
		for k := range got {
			want := 0.0
			for i, v := range x[at : at+2*n] {
				w := math.Sin(math.Pi / (2 * n) * (float64(i) + 0.5))
				want += math.Sqrt(2.0/n) * w * v * math.Cos(math.Pi/n*(float64(i)+0.5+n/2)*(float64(k)+0.5))
			}
			if math.Abs(got[k]-want) > 1e-12 {
				t.Fatalf("block at %d, number %d: %g, want %g", at, k, got[k], want)
			}
		}
		m.inverse(back, got)
		for i, v := range back {
			sum[at+i] += v
		}
	}
	for i := n; i < 3*n; i++ {
		if math.Abs(sum[i]-x[i]) > 1e-12 {
			t.Errorf("sample %d comes back as %g, was %g", i, sum[i], x[i])
		}
	}
}
