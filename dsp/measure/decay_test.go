package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
	"strop/dsp/measure"
)

// exponential is the square root of a decay in power: Σ ratio·e^(−13.8155·t/T).
func exponential(seconds float64, slopes ...[2]float64) []float64 {
	h := make([]float64, int(seconds*48000))
	for i := range h {
		power := 0.0
		for _, s := range slopes {
			power += s[1] * math.Exp(-6*math.Ln10*float64(i)/48000/s[0])
		}
		h[i] = math.Sqrt(power)
	}
	return h
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// ISO 3382-1:2009, the quantities of an exponential decay: Ts = T/13.8155,
// C = 10·log10(e^(13.8155·t/T) − 1); computed independently from the formulae.
func TestDecayOfExponential(t *testing.T) {
	for _, c := range []struct{ T, c50, c80, d50, ts float64 }{
		{0.3, 9.5424, 15.8895, 0.900000, 21.7147},
		{0.5, 4.7437, 9.0956, 0.748811, 36.1912},
		{0.8, 1.3716, 4.7437, 0.578303, 57.9059},
		{1.0, -0.0206, 3.0534, 0.498813, 72.3824},
		{1.5, -2.3292, 0.3715, 0.369043, 108.5736},
		{2.0, -3.8454, -1.3206, 0.292054, 144.7648},
		{3.0, -5.8683, -3.5121, 0.205672, 217.1472},
	} {
		for _, ends := range []float64{1.2, 2} { // in decay times, on its way down
			d, err := measure.DecayOf(exponential(ends*c.T, [2]float64{c.T, 1}), 48000)
			if err != nil {
				t.Fatal(err)
			}
			for _, got := range []float64{d.EDTS, d.T20S, d.T30S} {
				if !near(got/c.T, 1, 1e-4) {
					t.Errorf("T %g s: EDT %.5f, T20 %.5f, T30 %.5f s", c.T, d.EDTS, d.T20S, d.T30S)
					break
				}
			}
			if !near(d.C50DB, c.c50, 1e-3) || !near(d.C80DB, c.c80, 1e-3) || !near(d.D50, c.d50, 2e-4) || !near(d.TsMS, c.ts, 0.02) {
				t.Errorf("T %g s: C50 %.4f, C80 %.4f dB, D50 %.6f, Ts %.4f ms, want %v", c.T, d.C50DB, d.C80DB, d.D50, d.TsMS, c)
			}
			if !near(d.C50DB, dsp.PowerToDB(d.D50/(1-d.D50)), 1e-12) {
				t.Errorf("T %g s: C50 %.4f dB does not follow from D50 %.6f", c.T, d.C50DB, d.D50)
			}
		}
	}
}

// Two exponentials in one response; least-squares lines through the Schroeder
// integral, computed independently.
func TestDecayOfTwoSlopes(t *testing.T) {
	for _, c := range []struct{ T1, secondDB, T2, edt, t20, t30 float64 }{
		{0.5, -20, 2, 0.5399, 0.9998, 1.5036},
		{1.0, -25, 3, 1.0145, 1.0869, 1.3198},
	} {
		h := exponential(2*c.T2, [2]float64{c.T1, 1}, [2]float64{c.T2, math.Pow(10, c.secondDB/10)})
		d, err := measure.DecayOf(h, 48000)
		if err != nil || !near(d.EDTS, c.edt, 1e-3) || !near(d.T20S, c.t20, 1e-3) || !near(d.T30S, c.t30, 1e-3) {
			t.Errorf("EDT %.4f, T20 %.4f, T30 %.4f s, %v; want %v", d.EDTS, d.T20S, d.T30S, err, c)
		}
	}
}

// Without compensation a floor of −60, −50 and −40 dB makes T30 1.008, 1.36 and
// 9.9 s of 1 s (computed independently): the meter compensates, or refuses.
func TestDecayInNoise(t *testing.T) {
	for _, c := range []struct {
		floorDB   float64
		t20, t30  bool
		tolerance float64
	}{{-60, true, true, 0.005}, {-50, true, true, 0.015}, {-40, true, false, 0.02}, {-30, false, false, 0}} {
		h := exponential(2.5, [2]float64{1, 1})
		r := rand.New(rand.NewPCG(5, 5))
		for i := range h {
			h[i] = math.Copysign(h[i], r.Float64()-0.5) + r.NormFloat64()*dsp.FromDB(c.floorDB)
		}
		d, err := measure.DecayOf(h, 48000)
		if err != nil {
			t.Fatal(err)
		}
		if math.IsNaN(d.T20S) == c.t20 || c.t20 && !near(d.T20S, 1, c.tolerance) ||
			math.IsNaN(d.T30S) == c.t30 || c.t30 && !near(d.T30S, 1, c.tolerance) || !near(d.RangeDB, -c.floorDB, 1.5) {
			t.Errorf("a floor of %g dB: T20 %.4f, T30 %.4f s, range %.1f dB", c.floorDB, d.T20S, d.T30S, d.RangeDB)
		}
	}
}

func TestDecayRefuses(t *testing.T) {
	r, noise := rand.New(rand.NewPCG(5, 5)), make([]float64, 48000)
	for i := range noise {
		noise[i] = r.NormFloat64()
	}
	for name, h := range map[string][]float64{"nothing": nil, "silence": make([]float64, 48000), "a click": {1}, "NaN": {math.NaN()}} {
		if d, err := measure.DecayOf(h, 48000); err == nil {
			t.Errorf("%s: %+v", name, d)
		}
		if bands, err := measure.OctaveDecays(h, 48000); err == nil {
			for _, b := range bands {
				if !math.IsNaN(b.T30S) {
					t.Errorf("%s: %+v", name, b)
				}
			}
		}
	}
	if d, err := measure.DecayOf(noise, 48000); err == nil && !(math.IsNaN(d.EDTS) && math.IsNaN(d.T20S) && math.IsNaN(d.T30S)) {
		t.Errorf("steady noise has a decay: %+v", d)
	}
}

// Gaussian noise that decays alike at all frequencies: every octave reads that
// decay within the spread of noise of its bandwidth, sd 0.55·√(1.15/(B·T)) (from
// memory, after ISO 3382-2), here within three of them, and T30 of the whole
// within 1 %: sd 0.25 % by an independent computation.
func TestOctaveDecays(t *testing.T) {
	h := exponential(2, [2]float64{1, 1})
	r := rand.New(rand.NewPCG(8, 8))
	for i := range h {
		h[i] *= r.NormFloat64()
	}
	whole, err := measure.DecayOf(h, 48000)
	if err != nil || !near(whole.T30S, 1, 0.01) {
		t.Errorf("whole: T30 %.4f s, %v", whole.T30S, err)
	}
	bands, err := measure.OctaveDecays(h, 48000)
	if err != nil || len(bands) != 9 || !near(bands[4].FreqHz, 1000, 1e-9) {
		t.Fatalf("%d bands, %v", len(bands), err)
	}
	if alone, err := measure.OctaveDecayAt(h, 48000, 1000); err != nil || alone != bands[4] {
		t.Errorf("1 kHz alone: %+v (%v), among the others %+v", alone, err, bands[4])
	}
	for _, b := range bands {
		if sd := 0.55 * math.Sqrt(1.15/(b.FreqHz/math.Sqrt2)); !near(b.T30S, 1, 3*sd) {
			t.Errorf("%.0f Hz: T30 %.4f s, sd %.4f", b.FreqHz, b.T30S, sd)
		}
	}
}

// Abel & Huang 2006: 1 for Gaussian noise; next to nothing for single echoes. A
// sine lies beyond its standard deviation half the time: 0.5/erfc(1/√2) = 1.576.
func TestEchoDensity(t *testing.T) {
	r, noise := rand.New(rand.NewPCG(1, 1)), make([]float64, 48000)
	echoes, sine := make([]float64, 48000), make([]float64, 48000)
	for i := range noise {
		noise[i] = r.NormFloat64()
		sine[i] = math.Sin(float64(i) * 0.7)
		if i%480 == 0 {
			echoes[i] = 1
		}
	}
	mean := func(h []float64) float64 {
		sum := 0.0
		profile := measure.EchoDensity(h, 48000)
		for _, d := range profile[20:980] {
			sum += d / 960
		}
		return sum
	}
	if got := mean(noise); !near(got, 1, 0.01) {
		t.Errorf("noise: %.4f", got)
	}
	if got := mean(echoes); !near(got, 0.0066, 0.002) { // 2 of 960 frames, over 0.317
		t.Errorf("an echo every 10 ms: %.4f", got)
	}
	if got := mean(sine); !near(got, 0.5/0.3173105079, 0.02) {
		t.Errorf("a sine: %.4f", got)
	}
	profile := measure.EchoDensity(append(make([]float64, 4800), noise...), 48000)
	if at := measure.DenseFromMS(profile, 0.9); at < 95 || at > 105 {
		t.Errorf("noise from 100 ms on is dense from %d ms", at)
	}
	if at := measure.DenseFromMS(measure.EchoDensity(echoes, 48000), 0.9); at != -1 {
		t.Errorf("echoes are dense from %d ms", at)
	}
}
