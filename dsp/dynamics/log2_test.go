package dynamics

import (
	"math"
	"testing"
)

// Against math.Log2 and math.Exp2: a million numbers each, whole exponents and
// their neighbours.
func TestLog2AndExp2(t *testing.T) {
	worstLog, worstExp := 0.0, 0.0
	for i := range 1_000_000 {
		x := math.Exp2(float64(i)/5000 - 100)
		for _, x := range []float64{x, math.Nextafter(x, 0)} {
			worstLog = max(worstLog, math.Abs(log2(x)-math.Log2(x)))
		}
		y := float64(i)/1000.1 - 500
		worstExp = max(worstExp, math.Abs(exp2(y)/math.Exp2(y)-1))
	}
	t.Logf("log2 within %.2g, exp2 within %.2g of its value", worstLog, worstExp)
	if !(worstLog <= 1e-10) {
		t.Errorf("log2 is off by %g, stated 1e-10", worstLog)
	}
	if !(worstExp <= 1e-10) {
		t.Errorf("exp2 is off by %g of its value, stated 1e-10", worstExp)
	}
	if exp2(0) != 1 || exp2(-1e-25) != 1 {
		t.Errorf("exp2(0) = %g, exp2(-1e-25) = %g; neutral has to be 1 to the bit", exp2(0), exp2(-1e-25))
	}
	for _, x := range []float64{-1000, -65, -1, 1, 64, 1000} {
		if exp2(x) != math.Exp2(x) {
			t.Errorf("exp2(%g) = %g", x, exp2(x))
		}
	}
}

func TestBounded(t *testing.T) {
	for in, want := range map[float64]float64{0: softest, 5e-324: softest, 1: 1, math.Inf(1): loudest, -1: softest} {
		if got := bounded(in); got != want {
			t.Errorf("bounded(%g) = %g, want %g", in, got, want)
		}
	}
	if got := bounded(math.NaN()); got != softest {
		t.Errorf("bounded(NaN) = %g", got)
	}
}
