package fourier

import (
	"math"
	"testing"
)

// The vectors, where there are any, give what the plain code gives. Where that
// is compiled with fused multiplications (GOAMD64=v3) the last bits differ.
func TestVectors(t *testing.T) {
	const n = 67
	ar, ai, br, bi := randomSamples(1, n), randomSamples(2, n), randomSamples(3, n), randomSamples(4, n)
	for n := range n + 1 {
		yr, yi, zr, zi := randomSamples(5, n), randomSamples(6, n), randomSamples(5, n), randomSamples(6, n)
		MulAdd(yr, yi, ar, ai, br, bi)
		mulAdd(zr, zi, ar, ai, br, bi)
		expectSame(t, "product", n, yr, zr, yi, zi)
	}
	for _, m := range []int{4, 8, 16, 64, 1024} {
		xr, xi, turns := randomSamples(1, 4*m), randomSamples(2, 4*m), randomSamples(3, 6*m)
		yr, yi, zr, zi := make([]float64, 4*m), make([]float64, 4*m), make([]float64, 4*m), make([]float64, 4*m)
		firstPass(yr, yi, xr, xi, turns)
		plainFirstPass(zr, zi, xr, xi, turns)
		expectSame(t, "first pass", m, yr, zr, yi, zi)
		for s := 4; s <= m; s *= 4 {
			pass(yr, yi, xr, xi, turns[:6*m/s], s)
			plainPass(zr, zi, xr, xi, turns[:6*m/s], s)
			expectSame(t, "pass", s, yr, zr, yi, zi)
		}
	}
}

func expectSame(t *testing.T, what string, n int, pairs ...[]float64) {
	t.Helper()
	for p := 0; p < len(pairs); p += 2 {
		for i, x := range pairs[p] {
			if math.Abs(x-pairs[p+1][i]) > 1e-14 {
				t.Errorf("%s of %d: number %d is %g, plain code gives %g", what, n, i, x, pairs[p+1][i])
			}
		}
	}
}
