package measure_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// A tone of full scale on both channels carries its own band at 0 dB and no
// other; a gain of 6 dB shifts every band that carries by 6 dB.
func TestFacts(t *testing.T) {
	const rateHz = 48000
	tone := make([]dsp.Frame, 8*rateHz)
	for i := range tone {
		v := math.Sin(2 * math.Pi * 1000 * float64(i) / rateHz)
		tone[i] = dsp.Frame{v, v}
	}
	f := measure.FactsOf(tone, rateHz)
	if math.Abs(f.BandsDB[17]) > 0.05 || math.Abs(f.TotalDB) > 0.05 {
		t.Errorf("1 kHz band %.3f dB, total %.3f dB, want 0", f.BandsDB[17], f.TotalDB)
	}
	for hz, want := range map[float64]bool{1000: true, 1100: true, 100: false, 8000: false} {
		if f.Carries(hz, 1.0/3) != want {
			t.Errorf("carries %g Hz: %v", hz, !want)
		}
	}
	if !f.Carries(1400, 1) {
		t.Error("the octave around 1.4 kHz reaches down to 1 kHz")
	}
	dsp.Gain(dsp.FromDB(-6)).Process(tone)
	if shift := measure.ShiftDB(f, measure.FactsOf(tone, rateHz)); math.Abs(shift-6) > 0.01 {
		t.Errorf("a gain of −6 dB shifts bands by %.3f dB", shift)
	}
}
