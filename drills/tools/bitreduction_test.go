package tools_test

import (
	"testing"

	"strop/drills"
	"strop/dsp"
)

// Words of n bits leave a full tone 6.02·n + 1.76 dB over their noise: W. R.
// Bennett, Spectra of quantized signals, BSTJ 27 (1948).
func TestBitReduction(t *testing.T) {
	drill, amount := tool(t, "sat-bits"), tool(t, "sat-amount")
	c := clipOf("tone", sine(997, 0.9999, 2))
	for _, bits := range []float64{5, 8} {
		made, err := amount.Measure(drills.Made{RateHz: testRateHz, Before: c.Frames, After: changed(t, drill, c, dsp.Setting{"bits": bits}, c.Frames), Setting: dsp.Setting{}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "noise", made["distortionDB"], -(6.02*bits + 1.76), 0.6)
	}
}
