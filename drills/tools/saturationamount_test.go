package tools_test

import (
	"math"
	"testing"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// A sine made square has harmonics of 48.3 % of its fundamental, √(π²/8 − 1) or
// −6.31 dB: what is no multiple of the sine, under what is.
func TestDistortionOfASquare(t *testing.T) {
	before, after := sine(997, 0.5, 1), sine(997, 0.5, 1)
	for i, f := range after {
		after[i] = dsp.Frame{math.Copysign(0.3, f[0]), math.Copysign(0.3, f[1])}
	}
	truth, err := tool(t, "sat-amount").Measure(drills.Made{RateHz: testRateHz, Before: before, After: after, Setting: dsp.Setting{"kind": 1}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "distortion", truth["distortionDB"], -6.31, 0.05)
}

// On a tone the distortion that is asked for is the one that comes out, by the
// meter of total harmonic distortion over the fundamental.
func TestSaturationAmount(t *testing.T) {
	drill := tool(t, "sat-amount")
	c := clipOf("tone", sine(500, 0.3, 2))
	for _, db := range []float64{-20, -14} {
		out := changed(t, drill, c, dsp.Setting{"kind": 1, "distortionDB": db}, c.Frames)
		h := measure.HarmonicsOf(measure.Left.Samples(out[len(out)/4:]), testRateHz, 500)
		near(t, "THD", dsp.ToDB(h.THDF()), db, 0.7)
	}
}
