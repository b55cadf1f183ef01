package measure_test

import (
	"math"
	"testing"

	"strop/dsp/dsptest"
	"strop/dsp/measure"
)

// The weighting is Table 1 of AES6-2008, as others transcribe it.
func TestFlutterWeighting(t *testing.T) {
	for _, row := range [][2]float64{
		{0.1, -48}, {0.2, -30.6}, {0.315, -19.7}, {0.4, -15}, {0.63, -8.4}, {0.8, -6}, {1, -4.2}, {1.6, -1.8}, {2, -0.9},
		{4, 0}, {6.3, -0.9}, {10, -2.1}, {20, -5.9}, {40, -10.4}, {63, -14.2}, {100, -17.3}, {200, -23},
	} {
		if got := measure.FlutterWeightingDB(row[0]); math.Abs(got-row[1]) > 1e-9 {
			t.Errorf("%g Hz: %.3f dB, want %g", row[0], got, row[1])
		}
	}
	if got := measure.FlutterWeightingDB(math.Sqrt(2 * 4)); math.Abs(got+0.45) > 1e-9 {
		t.Errorf("half way from 2 to 4 Hz: %.3f dB, want -0.45", got)
	}
}

// A tone whose phase is modulated by formula, no processor of ours in the way:
// sin(2π·3150·t + β·sin(2π·f·t)), β = 3150·d/f, deviates by ±d.
func TestFlutterOfFormula(t *testing.T) {
	for _, c := range []struct{ pct, hz float64 }{{0.1, 4}, {0.05, 0.5556}, {1, 10}, {0.2, 100}} {
		tone := make([]float64, 10*44100)
		for i := range tone {
			s := float64(i) / 44100
			tone[i] = 0.3 * math.Sin(2*math.Pi*3150*s+3150*c.pct/100/c.hz*math.Sin(2*math.Pi*c.hz*s))
		}
		f, err := measure.FlutterOf(tone, 44100)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.UnweightedPct/c.pct-1) > 0.01 {
			t.Errorf("%g %% at %g Hz: %.4f %%", c.pct, c.hz, f.UnweightedPct)
		}
	}
}

// A machine that runs 1 % too fast does not flutter.
func TestFlutterFindsTheSpeed(t *testing.T) {
	f, err := measure.FlutterOf(measure.Left.Samples(dsptest.Sine(48000, 3150*1.01, 0.5, 0, 8*48000)), 48000)
	if err != nil || math.Abs(f.FreqHz-3181.5) > 0.001 || f.UnweightedPct > 1e-6 {
		t.Errorf("%+v, %v", f, err)
	}
}

func TestFlutterRefuses(t *testing.T) {
	for what, tone := range map[string][]float64{
		"a flutter reading wants 5.5 s of the test tone or more":            measure.Left.Samples(dsptest.Sine(48000, 3150, 0.5, 0, 5*48000)),
		"no steady tone near 3150 Hz was found; record the test tone alone": measure.Left.Samples(dsptest.Music(48000, 1, 8*48000)),
	} {
		if f, err := measure.FlutterOf(tone, 48000); err == nil || err.Error() != what {
			t.Errorf("%+v, %v; want %s", f, err, what)
		}
	}
}
