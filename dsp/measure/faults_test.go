package measure

import (
	"math"
	"testing"

	"strop/dsp"
)

// The meters of faults take any rate and any clip: nothing, a frame, silence,
// and a sound without faults, and find nothing.
func TestFaultMetersFindNothing(t *testing.T) {
	for _, rateHz := range []float64{dsp.MinRateHz, 11025, 22050, 44100, dsp.MaxRateHz} {
		pink := make([]dsp.Frame, int(4*rateHz))
		dsp.NewPink(rateHz, 4).Fill(pink)
		dsp.Gain(0.1).Process(pink)
		for what, buf := range map[string][]dsp.Frame{
			"nothing": nil, "a frame": make([]dsp.Frame, 1), "a short silence": make([]dsp.Frame, 777),
			"silence": make([]dsp.Frame, int(4*rateHz)), "noise": pink, "a little noise": pink[:500],
		} {
			for meter, n := range map[string]int{
				"clipping": len(ClippingOf(buf).Runs), "clicks": len(ClicksOf(buf, rateHz)), "dropouts": len(DropoutsOf(buf, rateHz)),
				"tape dropouts": len(TapeDropoutsOf(buf, rateHz)), "mains": len(MainsOf(buf, rateHz).PartialsDBFS),
			} {
				if n != 0 {
					t.Errorf("%s in %s at %g Hz: %d", meter, what, rateHz, n)
				}
			}
			if floor := NoiseFloorOf(buf, rateHz); what != "noise" && !math.IsInf(floor.LevelDBFS, -1) {
				t.Errorf("the noise floor of %s at %g Hz is %g dBFS", what, rateHz, floor.LevelDBFS)
			}
			if offset := DCOffset(buf); what == "silence" && offset != (dsp.Frame{}) {
				t.Errorf("silence has an offset of %v", offset)
			}
		}
	}
}
