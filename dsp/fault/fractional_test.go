package fault

import (
	"math"
	"math/cmplx"
	"testing"
)

// A delay by part of a sample is that: gain and delay of e^(−iω·part), the
// definition, up to 0.42 of the rate; whole samples are exact.
func TestFractionalDelay(t *testing.T) {
	worstDB, worstFrames := 0.0, 0.0
	for part := 0.0; part < 1; part += 0.0371 {
		for _, cycles := range []float64{0.001, 0.01, 0.1, 0.2, 0.3, 0.4, 0.42} {
			h, w := complex(0, 0), 2*math.Pi*cycles
			for i, tap := range combTaps(part) {
				h += cmplx.Rect(tap, -w*float64(sincTaps/2-i))
			}
			worstDB = max(worstDB, math.Abs(20*math.Log10(cmplx.Abs(h))))
			worstFrames = max(worstFrames, math.Abs(cmplx.Phase(h*cmplx.Rect(1, w*part)))/w)
		}
	}
	t.Logf("worst: %.5f dB, %.6f frames", worstDB, worstFrames)
	if worstDB > 0.001 || worstFrames > 0.001 {
		t.Errorf("%.5f dB, %.6f frames off", worstDB, worstFrames)
	}
	for i, tap := range sincAt(0) {
		if tap != 0 && i != sincTaps/2 {
			t.Errorf("tap %d of a whole sample is %g", i, tap)
		}
	}
}
