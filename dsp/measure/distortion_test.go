package measure

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/saturation"
)

// tones is a sum of sines: pairs of frequency and amplitude.
func tones(rateHz, seconds float64, pairs ...[2]float64) []float64 {
	x := make([]float64, int(seconds*rateHz))
	for j, p := range pairs {
		for i := range x {
			x[i] += p[1] * math.Sin(2*math.Pi*p[0]*float64(i)/rateHz+float64(j))
		}
	}
	return x
}

// Amplitudes of 1, 0.1, 0.05 and 0.02 are 11.35782 % re the fundamental and
// 11.28526 % re all, from the definitions.
func TestTHDDefinitions(t *testing.T) {
	for _, freqHz := range []float64{40, 997, 3000} {
		x := tones(48000, 1, [2]float64{freqHz, 0.5}, [2]float64{2 * freqHz, 0.05}, [2]float64{3 * freqHz, 0.025}, [2]float64{4 * freqHz, 0.01})
		h := HarmonicsOf(x, 48000, freqHz)
		near(t, fmt.Sprintf("THD_F at %g Hz, %%", freqHz), 100*h.THDF(), 11.35782, 1e-5)
		near(t, fmt.Sprintf("THD_R at %g Hz, %%", freqHz), 100*h.THDR(), 11.28526, 1e-5)
		near(t, "fundamental", h.U[0], 0.5, 1e-7)
	}
}

// A sine clipped at c has the Fourier coefficients computed independently from
//
//	b1 = (2/π)(θ + c·cos θ), θ = asin c
//	bn = (4/π)[sin((n−1)θ)/(2(n−1)) − sin((n+1)θ)/(2(n+1)) + (c/n)cos nθ], odd n
//
// The tone lies so low that what folds back is small.
func TestHarmonicsOfClippedSine(t *testing.T) {
	for c, want := range map[float64][4]float64{
		0.99:           {0.99880138, 0.00117952, 0.00114196, 0.00108723},
		dsp.FromDB(-1): {0.95765931, 0.03528181, 0.02367146, 0.01137290},
		0.5:            {0.60899778, 0.13783222, 0.02756644, 0.00984516},
		0.25:           {0.31496236, 0.09631319, 0.04815660, 0.02536821},
	} {
		x := ToneThrough(shaper(func(x float64) float64 { return min(max(x, -c), c) }), 192000, 40.37, 1, 0.5)
		h := HarmonicsOf(x, 192000, 40.37)
		for i, u := range want {
			near(t, fmt.Sprintf("clipped at %g, harmonic %d", c, 2*i+1), h.U[2*i], u, 1.5e-5)
			if i > 0 {
				near(t, fmt.Sprintf("clipped at %g, harmonic %d", c, 2*i), h.U[2*i-1], 0, 1e-6)
			}
		}
	}
}

// x − x³/3 of a sine: THD of 11.1111 % at 1, 2.2222 % at a half, from the
// formula a³/12 over a − a³/4; tanh: 6.7065 % at 1, by integration.
func TestTHDOfCurves(t *testing.T) {
	cubic := shaper(func(x float64) float64 { return x - x*x*x/3 })
	for _, c := range []struct {
		p     dsp.Processor
		ratio float64
		want  float64
	}{{cubic, 1, 11.1111}, {cubic, 0.5, 2.2222}, {shaper(math.Tanh), 1, 6.7065}, {shaper(math.Tanh), 2, 17.3407}} {
		h := HarmonicsOf(ToneThrough(c.p, 96000, 997, c.ratio, 0.5), 96000, 997)
		near(t, fmt.Sprintf("%T at %g, %%", c.p, c.ratio), 100*h.THDF(), c.want, 1e-3)
	}
}

// This program's tanh is oversampled and late; its distortion is that of the
// curve all the same.
func TestTHDOfProcessor(t *testing.T) {
	p, err := saturation.Tanh.New(48000, dsp.Setting{"driveDB": 0})
	if err != nil {
		t.Fatal(err)
	}
	h := HarmonicsOf(ToneThrough(p, 48000, 997, 1, 0.5), 48000, 997)
	t.Logf("THD %.4f %%", 100*h.THDF())
	near(t, "THD of tanh, %", 100*h.THDF(), 6.7065, 0.01)
}

// A tone of power ½ with white noise of N in all: from 20 Hz to 20 kHz there
// are N·19980/24000 of it, less the third of an octave or so that the notch
// takes, π/2·f0/Q Hz. And a full-scale sine of 16 bits reads −98.09 dB less
// the noise above 20 kHz: 6.02·N + 1.76.
func TestTHDN(t *testing.T) {
	const rateHz, freqHz = 48000, 997.0
	x, noise := tones(rateHz, 10, [2]float64{freqHz, 1}), whiteSamples(8, 10*rateHz)
	for i := range x {
		x[i] += 0.001 * noise[i]
	}
	power := 1e-6 * (bandHighHz - bandLowHz - math.Pi/2*freqHz/notchQ) / (rateHz / 2)
	near(t, "noise, dB", dsp.ToDB(THDN(x, rateHz, freqHz)), dsp.PowerToDB(power/0.5), 0.1)
	for i, y := range tones(rateHz, 10, [2]float64{freqHz, 1}) {
		x[i] = math.Round(y*(1<<15)) / (1 << 15)
	}
	near(t, "16 bits, dB", dsp.ToDB(THDN(x, rateHz, freqHz)), -98.09+dsp.PowerToDB(0.8), 0.3)
}

// Of a pure tone nothing is left, and of a harmonic what the notch lets
// through: at twice the frequency |H|² = 1/(1 + (1/(Q·1.5))²) of the analogue
// notch.
func TestTHDNOfTones(t *testing.T) {
	for _, freqHz := range []float64{20, 40, 997, 6000} {
		pure := tones(48000, 4, [2]float64{freqHz, 0.7})
		if r := THDN(pure, 48000, freqHz); r > 1e-6 {
			t.Errorf("a pure tone of %g Hz has %.1f dB of distortion and noise", freqHz, dsp.ToDB(r))
		}
	}
	x := tones(48000, 4, [2]float64{500, 1}, [2]float64{1000, 0.01})
	near(t, "a harmonic", THDN(x, 48000, 500), 0.01/math.Sqrt(1+1.0/9), 5e-5)
	if r := THDN(x[:100], 48000, 500); !math.IsNaN(r) {
		t.Errorf("too little reads %g", r)
	}
}

// The examples of the definitions: side bands of 0.02 and 0.02 about 0.25 are
// 16 %; a product of 0.03 from two tones of 0.5 is 3 %.
func TestIntermodulationDefinitions(t *testing.T) {
	x := tones(48000, 1, [2]float64{60, 1}, [2]float64{7000, 0.25}, [2]float64{6940, 0.02}, [2]float64{7060, 0.02}, [2]float64{6880, 0.005})
	d := ModulationDistortion(x, 48000, 60, 7000)
	near(t, "modulation, second order", d.D2, 0.16, 1e-6)
	near(t, "modulation, third order", d.D3, 0.02, 1e-6)
	x = tones(48000, 1, [2]float64{13000, 0.5}, [2]float64{14000, 0.5}, [2]float64{1000, 0.03}, [2]float64{12000, 0.01}, [2]float64{15000, 0.01})
	d = DifferenceFrequencyDistortion(x, 48000, 13000, 14000)
	near(t, "difference frequency, second order", d.D2, 0.03, 1e-6)
	near(t, "difference frequency, third order", d.D3, 0.02, 1e-6)
}

// Of x + a·x² + b·x³ the products are, from the formula: a·A·B at each side
// band, 3/4·b·A²·B at each of the third order, on a high tone that grows by
// 3/2·b·A²·B + 3/4·b·B³.
func TestIntermodulationProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0, 0.1).Draw(t, "a"), rapid.Float64Range(0, 0.1).Draw(t, "b")
		low, high := rapid.Float64Range(0.1, 0.8).Draw(t, "low"), rapid.Float64Range(0.05, 0.2).Draw(t, "high")
		x := tones(48000, 0.5, [2]float64{60, low}, [2]float64{7000, high})
		for i, v := range x {
			x[i] = v + a*v*v + b*v*v*v
		}
		d := ModulationDistortion(x, 48000, 60, 7000)
		u := high + 1.5*b*low*low*high + 0.75*b*high*high*high
		if math.Abs(d.D2-2*a*low*high/u) > 1e-6 || math.Abs(d.D3-1.5*b*low*low*high/u) > 1e-6 {
			t.Fatalf("got %+v", d)
		}
	})
}

func TestDistortionOfNothing(t *testing.T) {
	if h := HarmonicsOf(make([]float64, 1000), 48000, 997); !math.IsNaN(h.THDF()) {
		t.Errorf("silence has a THD of %g", h.THDF())
	}
	if h := HarmonicsOf(make([]float64, 1000), 48000, 30000); !math.IsNaN(h.THDF()) || !math.IsNaN(h.THDR()) {
		t.Errorf("a tone out of band has harmonics: %+v", h)
	}
}

func BenchmarkHarmonics(b *testing.B) {
	x := tones(48000, 1, [2]float64{997, 0.5})
	for b.Loop() {
		HarmonicsOf(x, 48000, 997)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/frame")
}
