package measure

import (
	"math"
	"testing"

	"strop/dsp"
)

// The best predictor of a sine takes 2·cos ω of the last sample less the one
// before; that of white noise through 1/(1 − 0.9z⁻¹), 0.9 of the last alone.
func TestPredictor(t *testing.T) {
	const n, omega = 1 << 16, 0.3
	sine, noise := make([]float64, n), make([]float64, n)
	white, last := make([]dsp.Frame, n), 0.0
	dsp.NewWhite(1).Fill(white)
	for i := range n {
		sine[i] = math.Sin(omega * float64(i))
		last = 0.9*last + white[i][0]
		noise[i] = last
	}
	a := predictor(sine, 2)
	near(t, "sine, a1", a[1], -2*math.Cos(omega), 1e-3)
	near(t, "sine, a2", a[2], 1, 1e-3)
	a = predictor(noise, 8)
	near(t, "noise, a1", a[1], -0.9, 0.02)
	for _, v := range a[2:] {
		near(t, "noise, further", v, 0, 0.02)
	}
}
