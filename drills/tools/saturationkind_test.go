package tools_test

import (
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// What tells the kinds apart is there, at one distortion: the asymmetric one
// alone has even harmonics, and hard clipping has more far up than a soft one.
// A symmetrical curve makes odd harmonics only.
func TestSaturationKinds(t *testing.T) {
	drill := tool(t, "sat-kind")
	c := clipOf("tone", sine(400, 0.3, 2))
	harmonicsDB := func(kind float64, order int) float64 {
		out := changed(t, drill, c, dsp.Setting{"kind": kind, "distortionDB": -14}, c.Frames)
		h := measure.HarmonicsOf(measure.Left.Samples(out[len(out)/4:]), testRateHz, 400)
		return dsp.ToDB(h.U[order-1] / h.U[0])
	}
	if soft, hard, bent := harmonicsDB(1, 2), harmonicsDB(2, 2), harmonicsDB(3, 2); soft > -80 || hard > -80 || bent < -40 {
		t.Errorf("second harmonic: soft %.0f, hard %.0f, asymmetric %.0f dB", soft, hard, bent)
	}
	if soft, hard := harmonicsDB(1, 9), harmonicsDB(2, 9); hard < soft {
		t.Errorf("ninth harmonic: soft %.0f, hard %.0f dB", soft, hard)
	}
}
