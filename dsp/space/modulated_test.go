package space

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// steady is the complex gain of p for a tone, after it has settled.
func steady(t *testing.T, p dsp.Processor, rateHz, freqHz float64) complex128 {
	t.Helper()
	n := int(rateHz / 2)
	buf := dsptest.Sine(rateHz, freqHz, 1, 0, 2*n)
	p.Process(buf)
	var sum complex128
	for i := n; i < 2*n; i++ {
		sum += complex(buf[i][0], 0) * cmplx.Rect(2/float64(n), math.Pi/2-2*math.Pi*freqHz*float64(i)/rateHz)
	}
	return sum
}

// A direct sound and a copy of it at g dB: peak, notch, computed from
// 20·log10(1 ± g); notches at (2k+1)/(2τ), peaks at k/τ.
func TestFlangerComb(t *testing.T) {
	for _, c := range []struct{ copyDB, peakDB, notchDB float64 }{
		{-1, 5.535, -19.272}, {-3, 4.650, -10.691}, {-6, 3.529, -6.041}, {-12, 1.947, -2.513}, {-20, 0.828, -0.915},
	} {
		mix := dsp.FromDB(c.copyDB)
		for _, f := range []struct{ freqHz, wantDB float64 }{
			{500, c.notchDB}, {1500, c.notchDB}, {9500, c.notchDB}, {1000, c.peakDB}, {3000, c.peakDB}, {18000, c.peakDB},
		} {
			p, err := Flanger.New(48000, dsp.Setting{"delayMS": 1, "depthMS": 0, "mixPct": 100 * mix})
			if err != nil {
				t.Fatal(err)
			}
			got := dsp.ToDB(cmplx.Abs(steady(t, p, 48000, f.freqHz))) + dsp.ToDB(1+mix)
			if math.Abs(got-f.wantDB) > 0.002 {
				t.Errorf("copy at %g dB, %g Hz: %.4f dB, want %.3f", c.copyDB, f.freqHz, got, f.wantDB)
			}
		}
	}
}

// With feedback g: H = d + w·z/(1 − g·z), z = e^(−iωτ).
func TestFlangerFeedback(t *testing.T) {
	for _, g := range []float64{0.7, -0.7} {
		for _, freqHz := range []float64{300, 1000, 4321, 15000} {
			p, err := Flanger.New(44100, dsp.Setting{"delayMS": 1.237, "depthMS": 0, "mixPct": 100, "feedbackPct": 100 * g})
			if err != nil {
				t.Fatal(err)
			}
			z := cmplx.Rect(1, -2*math.Pi*freqHz*0.001237)
			want := 0.5 + complex(0.5*(1-math.Abs(g)), 0)*z/(1-complex(g, 0)*z)
			if got := steady(t, p, 44100, freqHz); cmplx.Abs(got-want) > 2e-4 {
				t.Errorf("feedback %g, %g Hz: %.5f, want %.5f", g, freqHz, got, want)
			}
		}
	}
}

// A delay that moves is x(t − d(t)): a sine of which the phase is known.
func TestChorusIsExact(t *testing.T) {
	const rateHz, freqHz, lfoHz = 48000.0, 3000.0, 1.7
	p, err := Chorus.New(rateHz, dsp.Setting{"delayMS": 15, "depthMS": 4, "rateHz": lfoHz, "voices": 3, "spreadDeg": 60, "mixPct": 100})
	if err != nil {
		t.Fatal(err)
	}
	buf := dsptest.Sine(rateHz, freqHz, 1, 0, 48000)
	p.Process(buf)
	worst := 0.0
	for i := 2000; i < len(buf); i++ {
		at := float64(i) / rateHz
		for side := range 2 {
			want := math.Sin(2*math.Pi*freqHz*at) / math.Sqrt2
			for v := range 3 {
				d := 0.015 + 0.002*math.Sin(2*math.Pi*lfoHz*at+2*math.Pi*float64(v)/3+float64(side)*math.Pi/3)
				want += math.Sin(2*math.Pi*freqHz*(at-d)) / math.Sqrt2 / math.Sqrt(3)
			}
			worst = max(worst, math.Abs(buf[i][side]-want))
		}
	}
	if worst > 1e-4 {
		t.Errorf("off by %.2g", worst)
	}
}

// What fractional.go states: gain and delay up to 0.4 of the rate.
func TestSincStated(t *testing.T) {
	worstDB, worstLate := 0.0, 0.0
	for p := range 4 * sincPlaces {
		place := float64(p) / 4
		row := &sincTable()[int(place)]
		part := place - float64(int(place))
		for f := 0.01; f <= 0.4; f += 0.013 {
			var h complex128
			for i := range row.tap {
				h += complex(row.tap[i]+part*row.step[i], 0) * cmplx.Rect(1, 2*math.Pi*f*float64(i-sincTaps/2))
			}
			worstDB = max(worstDB, math.Abs(dsp.ToDB(cmplx.Abs(h))))
			worstLate = max(worstLate, math.Abs(cmplx.Phase(h*cmplx.Rect(1, 2*math.Pi*f*place/sincPlaces)))/(2*math.Pi*f))
		}
	}
	t.Logf("gain within %.5f dB, delay within %.6f sample", worstDB, worstLate)
	if worstDB > 0.01 || worstLate > 0.001 {
		t.Errorf("gain within %.5f dB, delay within %.6f sample", worstDB, worstLate)
	}
}

func TestSweepRefuses(t *testing.T) {
	for _, c := range []struct {
		spec   dsp.Spec
		rateHz float64
		s      dsp.Setting
	}{{Chorus, 48000, dsp.Setting{"delayMS": 4, "depthMS": 10}}, {Flanger, 8000, dsp.Setting{"delayMS": 0.5}}} {
		if _, err := c.spec.New(c.rateHz, c.s); err == nil {
			t.Errorf("%s takes a delay that would come before the sound", c.spec.ID)
		}
	}
}
