package eq_test

import (
	"fmt"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// Levels of a 100 Hz high-pass at 48 kHz computed independently from the
// bilinear transform of the Butterworth filter, which at 100 Hz is the analogue
// one to 0.001 dB; Linkwitz and Riley's is the square of that of half the slope.
func TestCuts(t *testing.T) {
	for _, c := range []struct {
		slope, corner, hz, level float64
	}{
		{6, -3, 50, -6.990}, {12, -3, 50, -12.304}, {12, -3, 25, -24.099}, {18, -3, 50, -18.129}, {18, -3, 25, -36.125},
		{24, -3, 25, -48.165}, {24, -3, 50, -24.1}, {24, -3, 100, -3.0103}, {24, -3, 200, -0.0169},
		{48, -3, 25, -96.331}, {48, -3, 50, -48.166}, {48, -3, 100, -3.0103}, {48, -3, 200, -0.0001},
		{12, -6, 100, -6.0206}, {24, -6, 100, -6.0206}, {36, -6, 100, -6.0206}, {48, -6, 100, -6.0206},
		{24, -6, 50, -2 * 12.304}, {48, -6, 25, -2 * 48.165}, {12, -6, 50, -2 * 6.990}, {12, -6, 200, -2 * 0.969},
	} {
		set := dsp.Setting{"freqHz": 100, "slopeDBOct": c.slope, "cornerDB": c.corner}
		near(t, "low cut {"+set.Text(eq.LowCut.Params)+"}", level(eq.LowCut.Response(48000, c.hz, set)), c.level, 0.002)
		near(t, "high cut {"+set.Text(eq.HighCut.Params)+"}", level(eq.HighCut.Response(48000, 100*100/c.hz, set)), c.level, 0.002)
	}
}

// The corner is where it was set, at any frequency and rate.
func TestCutCorner(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 192000} {
		for _, freqHz := range []float64{10, 80, 1000, 3900, 20000} {
			for _, slope := range allSlopes {
				for corner, want := range map[float64]float64{-3: -3.0103, -6: -6.0206} {
					set := dsp.Setting{"freqHz": freqHz, "slopeDBOct": slope, "cornerDB": corner}
					if freqHz > 0.49*rateHz || corner == -6 && int(slope)%12 != 0 {
						continue
					}
					name := fmt.Sprintf("at %g Hz, {%s}", rateHz, set.Text(eq.LowCut.Params))
					near(t, "low cut "+name, level(eq.LowCut.Response(rateHz, freqHz, set)), want, 1e-4)
					near(t, "high cut "+name, level(eq.HighCut.Response(rateHz, freqHz, set)), want, 1e-4)
				}
			}
		}
	}
}

func TestCutRefuses(t *testing.T) {
	for want, set := range map[string]dsp.Setting{
		"lowcut: slopeDBOct=18 does not go with cornerDB=-6; take 12, 24, 36 or 48 dB/oct":    {"slopeDBOct": 18, "cornerDB": -6},
		"lowcut: slopeDBOct=20 is not a whole number of steps of 6 dB/oct from 0":             {"slopeDBOct": 20},
		"lowcut: freqHz=20000 is too high for a sample rate of 40000 Hz; stay below 19600 Hz": {"freqHz": 20000, "slopeDBOct": 6},
	} {
		if _, err := eq.LowCut.New(40000, set); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// The depth of a notch and the level of a band-pass outside its band are what
// was dialled, and their −3.01 dB points are freqHz/q apart.
func TestNotchAndBandPass(t *testing.T) {
	for _, rateHz := range []float64{44100, 192000} {
		for _, freqHz := range []float64{20, 50, 1000, 19000} {
			for _, q := range []float64{0.5, 4, 30} {
				for _, depthDB := range []float64{3, 24, 96} {
					set := dsp.Setting{"freqHz": freqHz, "depthDB": depthDB, "q": q}
					near(t, fmt.Sprintf("notch at %g Hz, {%s}: centre", rateHz, set.Text(eq.Notch.Params)), level(eq.Notch.Response(rateHz, freqHz, set)), -depthDB, 0.05)
				}
				set := dsp.Setting{"freqHz": freqHz, "outsideDB": -40, "q": q}
				near(t, "band-pass: centre", level(eq.BandPass.Response(rateHz, freqHz, set)), 0, 1e-6)
				near(t, "band-pass: 0 Hz", level(eq.BandPass.Response(rateHz, 0, set)), -40, 1e-4)
			}
		}
	}
	for q, ratio := range map[float64]float64{1: 1.618034, 2: 1.280776, 10: 1.051249} { // √(1+1/4q²) + 1/2q
		for _, hz := range []float64{500 * ratio, 500 / ratio} {
			near(t, "notch: −3.01 dB point", level(eq.Notch.Response(48000, hz, dsp.Setting{"freqHz": 500, "depthDB": 96, "q": q})), -3.0103, 0.003)
			near(t, "band-pass: −3.01 dB point", level(eq.BandPass.Response(48000, hz, dsp.Setting{"freqHz": 500, "outsideDB": -96, "q": q})), -3.0103, 0.003)
		}
	}
}

// Opposite slopes of tilt cancel, and the pivot keeps its level.
func TestTilt(t *testing.T) {
	for _, rateHz := range []float64{44100, 192000} {
		for _, pivotHz := range []float64{20, 630, 20000} {
			up, down := dsp.Setting{"freqHz": pivotHz, "slopeDBOct": 2.5}, dsp.Setting{"freqHz": pivotHz, "slopeDBOct": -2.5}
			near(t, "pivot", level(eq.Tilt.Response(rateHz, pivotHz, up)), 0, 1e-7)
			for _, hz := range []float64{30, 1000, 15000} {
				near(t, "up and down", level(eq.Tilt.Response(rateHz, hz, up)*eq.Tilt.Response(rateHz, hz, down)), 0, 1e-7)
			}
		}
	}
}

func ExampleLowCut() {
	set := dsp.Setting{"freqHz": 80, "slopeDBOct": 24, "cornerDB": -6}
	fmt.Println(dsp.FormatDB(level(eq.LowCut.Response(48000, 80, set))), dsp.FormatDB(level(eq.LowCut.Response(48000, 40, set))))
	_, err := eq.LowCut.New(48000, set.With("slopeDBOct", 30))
	fmt.Println(strings.TrimPrefix(err.Error(), "lowcut: "))
	// Output:
	// −6.0 dB −24.6 dB
	// slopeDBOct=30 does not go with cornerDB=-6; take 12, 24, 36 or 48 dB/oct
}

// To 16 kHz the matched sections are no farther from the loss, above −24 dB,
// than the bilinear ones, by an amount that counts.
func TestCutsAreNotSqueezed(t *testing.T) {
	bilinear := func(design func(rateHz, freqHz float64, order int) []eq.Coefficients) dsp.Spec {
		return dsp.Spec{Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
			h := complex(1, 0)
			for _, c := range design(rateHz, s["freqHz"], int(s["slopeDBOct"])/6) {
				h *= c.Response(rateHz, freqHz)
			}
			return h
		}}
	}
	for _, c := range []struct {
		spec, bilinear dsp.Spec
		analogue       prototype
	}{
		{eq.LowCut, bilinear(eq.ButterworthHighPass), lowCut}, {eq.HighCut, bilinear(eq.ButterworthLowPass), highCut},
	} {
		for _, rateHz := range []float64{44100, 48000, 96000, 192000} {
			for _, slope := range allSlopes {
				for _, freqHz := range []float64{20, 80, 300, 1000, 3000, 6000, 9000, 12000, 16000} {
					set := dsp.Setting{"freqHz": freqHz, "slopeDBOct": slope, "cornerDB": -3}
					ours, theirs := strays(c.spec, c.analogue, rateHz, set, -24), strays(c.bilinear, c.analogue, rateHz, set, -24)
					if !(ours <= theirs+2e-4) {
						t.Errorf("%s at %g Hz, {%s}: matched %.5f dB off, bilinear %.5f", c.spec.ID, rateHz, set.Text(c.spec.Params), ours, theirs)
					}
				}
			}
		}
	}
}
