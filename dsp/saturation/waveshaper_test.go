package saturation

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

var shapers = []dsp.Spec{HardClip, SoftClip, Tanh, Tape, Asymmetric}

func made(t testing.TB, spec dsp.Spec, rateHz float64, s dsp.Setting) dsp.Processor {
	t.Helper()
	p, err := spec.New(rateHz, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestShapersForget(t *testing.T) {
	for _, spec := range shapers {
		for _, rateHz := range []float64{44100, 96000} {
			dsptest.Forgets(t, made(t, spec, rateHz, dsp.Setting{"driveDB": 20}), rateHz)
		}
	}
}

// steady is one second of what p makes of a sine, after half a second of it.
func steady(p dsp.Processor, rateHz, freqHz, ratio float64) []dsp.Frame {
	buf := dsptest.Sine(rateHz, freqHz, ratio, 0, int(1.5*rateHz))
	p.Process(buf)
	return buf[len(buf)-int(rateHz):]
}

// partial is the complex amplitude of a sine of freqHz, whole cycles, in the
// left channel.
func partial(buf []dsp.Frame, freqHz float64) complex128 {
	sum, n := 0i, float64(len(buf))
	for i, f := range buf {
		_, turn := math.Modf(freqHz * float64(i) / n)
		sum += cmplx.Rect(f[0], -2*math.Pi*turn)
	}
	return sum / complex(n/2, 0)
}

// harmonics are the signed amplitudes of the sine's odd harmonics and of the
// even ones' cosines, as Fourier coefficients of a curve of sin x are written,
// the fundamental's delay taken out.
func harmonics(p dsp.Processor, rateHz, freqHz, ratio float64, orders ...int) []float64 {
	buf := steady(p, rateHz, freqHz, ratio)
	from, out := int(rateHz/2)-dsp.DelayFrames(p), make([]float64, len(orders))
	for i, h := range orders {
		z := partial(buf, float64(h)*freqHz) * cmplx.Rect(1, -2*math.Pi*math.Mod(float64(h)*freqHz*float64(from)/rateHz, 1))
		if out[i] = -imag(z); h%2 == 0 {
			out[i] = real(z)
		}
	}
	return out
}

// Fourier coefficients of a full-scale sine hard-clipped at c:
//
//	b1 = (2/π)(θ + c·cos θ),  bn = (4/π)(sin((n−1)θ)/(2(n−1)) − sin((n+1)θ)/(2(n+1)) + (c/n)·cos nθ),  θ = asin c
//
// computed independently from the formula; the crest factor likewise.
func TestHardClippedSine(t *testing.T) {
	worst, worstDB := 0.0, 0.0
	for _, c := range []struct {
		c       float64
		want    [4]float64
		crestDB float64
	}{
		{0.99, [4]float64{0.99880138, 0.00117952, -0.00114196, 0.00108723}, 2.933},
		{0.8912509381, [4]float64{0.95765931, 0.03528181, -0.02367146, 0.01137290}, 2.377},
		{0.7079457844, [4]float64{0.81906481, 0.10585106, -0.02137128, -0.01504926}, 1.667},
		{0.5, [4]float64{0.60899778, 0.13783222, 0.02756644, -0.00984516}, 1.068},
		{0.25, [4]float64{0.31496236, 0.09631319, 0.04815660, 0.02536821}, 0.490},
	} {
		set := dsp.Setting{"driveDB": dsp.ToDB(1 / c.c)}
		for i, got := range harmonics(made(t, HardClip, 48000, set), 48000, 20, 1, 1, 3, 5, 7) {
			worst = max(worst, math.Abs(got-c.want[i]))
			if !(math.Abs(got-c.want[i]) < 1e-6) {
				t.Errorf("clipped at %.4f, harmonic %d: %.8f, want %.8f", c.c, 2*i+1, got, c.want[i])
			}
		}
		peak, power := 0.0, 0.0
		buf := steady(made(t, HardClip, 48000, set), 48000, 20, 1)
		for _, f := range buf {
			peak, power = max(peak, math.Abs(f[0])), power+f[0]*f[0]/float64(len(buf))
		}
		got := dsp.ToDB(peak) - dsp.PowerToDB(power)
		worstDB = max(worstDB, math.Abs(got-c.crestDB))
		if !(math.Abs(got-c.crestDB) < 0.01) {
			t.Errorf("clipped at %.4f: crest %.3f dB, want %.3f", c.c, got, c.crestDB)
		}
	}
	t.Logf("worst: %.1e of full scale, crest %.4f dB", worst, worstDB)
}

// Total harmonic distortion over the fundamental of a sine that reaches a on
// the curve, computed independently: x − x³/3 gives a³/12 over a − a³/4, tanh
// and x/√(1+x²) by integration.
func TestDistortion(t *testing.T) {
	worst := 0.0
	for _, c := range []struct {
		spec    dsp.Spec
		a       float64
		percent float64
	}{
		{SoftClip, 1, 11.1111}, {SoftClip, 0.5, 2.2222},
		{Tanh, 0.5, 1.9618}, {Tanh, 1, 6.7065}, {Tanh, 2, 17.3407},
		{Tape, 0.5, 2.7499}, {Tape, 1, 8.2751}, {Tape, 2, 17.9219},
	} {
		p := made(t, c.spec, 48000, driven(c.spec, dsp.ToDB(c.a)))
		orders := make([]int, 100)
		for i := range orders {
			orders[i] = i + 1
		}
		sum, h := 0.0, harmonics(p, 48000, 20, 1, orders...)
		for _, v := range h[1:] {
			sum += v * v
		}
		got := 100 * math.Sqrt(sum) / math.Abs(h[0])
		worst = max(worst, math.Abs(got-c.percent))
		if !(math.Abs(got-c.percent) < 1e-4) {
			t.Errorf("%s at %g: %.4f %%, want %.4f %%", c.spec.ID, c.a, got, c.percent)
		}
	}
	t.Logf("worst: %.1e %%", worst)
}

// driven is a setting of a drive alone, on Tape without its emphasis.
func driven(spec dsp.Spec, dB float64) dsp.Setting {
	s := dsp.Setting{"driveDB": dB}
	if spec.ID == Tape.ID {
		s["trebleDB"] = 0
	}
	return s
}

// A curve u − 0.1·u² gives 0.05·a² of second harmonic on a sine of a: 5 % of
// the fundamental at a = 1. The tanh about a resting point begins like it, so
// at 0.05 it has 0.25 %, and the two differ by terms of a³.
func TestAsymmetryMakesSecondHarmonic(t *testing.T) {
	p := made(t, Asymmetric, 48000, dsp.Setting{"driveDB": -26.0206, "asymmetry": 0.1})
	h := harmonics(p, 48000, 100, 1, 1, 2)
	if got := 100 * math.Abs(h[1]/h[0]); !(math.Abs(got-0.25) < 0.001) {
		t.Errorf("second harmonic of %.4f %%, want 0.25 %%", got)
	}
}

// The harmonics of the biased tanh at a large drive, by integration over a
// period; and of the DC that it makes nothing is left after half a second.
func TestAsymmetricHarmonicsWithoutDC(t *testing.T) {
	const drive, rest, n = 4.0, 0.3, 1 << 14
	p := made(t, Asymmetric, 48000, dsp.Setting{"driveDB": dsp.ToDB(drive), "asymmetry": rest})
	orders, worst := []int{1, 2, 3, 4, 5}, 0.0
	got := harmonics(p, 48000, 1000, 1, orders...)
	for i, h := range orders {
		want := 0.0
		for k := range n {
			x := 2 * math.Pi * (float64(k) + 0.5) / n
			basis := math.Sin(float64(h) * x)
			if h%2 == 0 {
				basis = math.Cos(float64(h) * x)
			}
			want += formulas["biased"].f(drive*math.Sin(x)) / drive * basis * 2 / n
		}
		// The blocker turns 1 kHz by 0.3°, and averaging takes 1e-3 of 5 kHz.
		worst = max(worst, math.Abs(got[i]-want))
		if !(math.Abs(got[i]-want) < 1e-4) {
			t.Errorf("harmonic %d: %.6f, want %.6f", h, got[i], want)
		}
	}
	before := 0.0
	for k := range n {
		before += formulas["biased"].f(drive*math.Sin(2*math.Pi*float64(k)/n)) / drive / n
	}
	after := real(partial(steady(p, 48000, 1000, 1), 0)) / 2
	t.Logf("worst harmonic %.1e, DC of the curve %.4f, of the output %.1e", worst, before, after)
	if !(math.Abs(before) > 0.02) || !(math.Abs(after) < 1e-6) {
		t.Errorf("DC of the curve %.4f, of the output %.1e", before, after)
	}
}

// spectrum is the power at every multiple of 4 Hz, of a second of sound at
// 44.1 kHz that repeats every quarter of a second.
func spectrum(buf []dsp.Frame) []float64 {
	const n = 11025
	turn := make([]complex128, n)
	for i := range turn {
		turn[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/n)
	}
	power := make([]float64, n/2+1)
	for k := range power {
		re, im, at := 0.0, 0.0, 0
		for _, f := range buf[:n] {
			re += f[0] * real(turn[at])
			im += f[0] * imag(turn[at])
			if at += k; at >= n {
				at -= n
			}
		}
		power[k] = re*re + im*im
	}
	return power
}

// harmonicOverAliasDB compares all harmonics of freqHz, a multiple of 4, with
// all else from 20 Hz to 20 kHz.
func harmonicOverAliasDB(p dsp.Processor, freqHz int) float64 {
	var harmonic, alias float64
	for k, power := range spectrum(steady(p, 44100, float64(freqHz), 1)) {
		switch hz := 4 * k; {
		case hz < 20 || hz > 20000:
		case hz%freqHz == 0:
			harmonic += power
		default:
			alias += power
		}
	}
	return dsp.PowerToDB(harmonic / alias)
}

// A full-scale sine driven tenfold. Computed independently for the hard clip,
// first order at four times 44.1 kHz, over the whole band: 84.8 dB at 1244 Hz,
// 65.6 dB at 4186 Hz.
func TestAliasing(t *testing.T) {
	for _, spec := range shapers {
		p := made(t, spec, 44100, dsp.Setting{"driveDB": 20})
		low, high := harmonicOverAliasDB(p, 1244), harmonicOverAliasDB(p, 4184)
		t.Logf("%s: %.1f dB at 1244 Hz, %.1f dB at 4184 Hz", spec.ID, low, high)
		if !(low >= 80) || !(high >= 60) {
			t.Errorf("%s: harmonics over aliases %.1f dB at 1244 Hz, %.1f dB at 4184 Hz", spec.ID, low, high)
		}
	}
}

// The gain at 20 kHz over the gain at 1 kHz, for a level so low that the curve
// is straight and for one that bends it, is within 0.5 dB of what the curve
// makes of a sine at any frequency.
func TestDroop(t *testing.T) {
	for _, rateHz := range []float64{44100, 96000} {
		for _, spec := range shapers {
			for _, ratio := range []float64{0.001, 0.2, 1, 10} {
				p := made(t, spec, rateHz, driven(spec, 20))
				mid := cmplx.Abs(partial(steady(p, rateHz, 1000, ratio), 1000))
				top := cmplx.Abs(partial(steady(p, rateHz, 20000, ratio), 20000))
				limit := 0.5
				if ratio == 0.001 {
					limit = 0.001
				}
				droop := dsp.ToDB(top / mid)
				if rateHz == 44100 {
					t.Logf("%s at %g Hz, %g: %+.4f dB at 20 kHz", spec.ID, rateHz, ratio, droop)
				}
				if !(math.Abs(droop) <= limit) {
					t.Errorf("%s at %g Hz, %g: %+.4f dB at 20 kHz", spec.ID, rateHz, ratio, droop)
				}
			}
		}
	}
}

// With no mix or no drive the input comes back to the bit, white noise too.
func TestNeutralIsExact(t *testing.T) {
	for _, spec := range shapers {
		for _, s := range []dsp.Setting{{}, {"driveDB": 30, "mixPct": 0}} {
			in := dsptest.Noise(1, 0.5, 5000)
			buf := slices.Clone(in)
			p := made(t, spec, 44100, s)
			p.Process(buf)
			if d := dsp.DelayFrames(p); d == 0 || !slices.Equal(buf[d:], in[:len(in)-d]) {
				t.Errorf("%s %v: white noise comes out changed", spec.ID, s)
			}
		}
	}
}

// Half the mix is the mean of the input and of the whole.
func TestMix(t *testing.T) {
	for _, spec := range shapers {
		var out [3][]dsp.Frame
		for i, mix := range []float64{0, 50, 100} {
			out[i] = dsptest.Noise(1, 0.3, 3000)
			made(t, spec, 48000, dsp.Setting{"driveDB": 20, "mixPct": mix}).Process(out[i])
		}
		for i, f := range out[1] {
			if d := f[0] - (out[0][i][0]+out[2][i][0])/2; !(math.Abs(d) < 1e-12) {
				t.Fatalf("%s: frame %d is off by %g", spec.ID, i, d)
			}
		}
	}
}

// fundamental is what x/√(1+x²) makes of a sine of a, over a, by integration.
func fundamental(a float64) float64 {
	const n = 4096
	sum := 0.0
	for k := range n {
		x := a * math.Sin(2*math.Pi*(float64(k)+0.5)/n)
		sum += x * x / math.Sqrt(1+x*x) * 2 / n
	}
	return sum / (a * a)
}

// Loud treble is lost as an emphasis of 10 dB, 50 µs, foretells it; quiet
// treble is not.
func TestTapeLosesLoudTreble(t *testing.T) {
	p, worst := made(t, Tape, 192000, dsp.Setting{"driveDB": 12}), 0.0
	for _, freqHz := range []float64{100, 3183, 12000} {
		for _, levelDB := range []float64{-80, -20, -6, 0} {
			s := complex(0, freqHz/tapeCornerHz)
			emphasis := cmplx.Abs((1 + s) / (1 + s/complex(dsp.FromDB(10), 0)))
			want := dsp.ToDB(fundamental(dsp.FromDB(levelDB+12) * emphasis))
			got := dsp.ToDB(cmplx.Abs(partial(steady(p, 192000, freqHz, dsp.FromDB(levelDB)), freqHz))) - levelDB
			worst = max(worst, math.Abs(got-want))
			if !(math.Abs(got-want) < 0.1) {
				t.Errorf("%g Hz at %g dBFS: %+.3f dB, want %+.3f", freqHz, levelDB, got, want)
			}
			if levelDB == -80 && !(math.Abs(got) < 0.001) {
				t.Errorf("%g Hz at %g dBFS: %+.4f dB, not flat", freqHz, levelDB, got)
			}
		}
	}
	t.Logf("worst: %.3f dB", worst)
}

// Nothing but Asymmetric ever makes a sample of a slow sine larger.
func TestNeverLouder(t *testing.T) {
	for _, spec := range shapers {
		limit := 1 + 1e-6
		if spec.ID == Asymmetric.ID {
			limit = dsp.FromDB(1.9)
		}
		for dB := -40.0; dB <= 40; dB += 4 {
			s := driven(spec, dB)
			if spec.ID == Asymmetric.ID {
				s["asymmetry"] = asymmetry.Max
			}
			for _, f := range steady(made(t, spec, 48000, s), 48000, 200, 1) {
				if !(math.Abs(f[0]) <= limit) {
					t.Fatalf("%s at %g dB: a full-scale sine reaches %.3f dB", spec.ID, dB, dsp.ToDB(f[0]))
				}
			}
		}
	}
}

func ExampleHardClip() {
	p, err := HardClip.New(48000, dsp.Setting{"driveDB": 6})
	if err != nil {
		fmt.Println(err)
		return
	}
	h := harmonics(p, 48000, 100, 1, 1, 3)
	fmt.Printf("third harmonic %.1f dB under the fundamental, %d frames late\n", dsp.ToDB(h[0]/h[1]), dsp.DelayFrames(p))
	// Output: third harmonic 12.9 dB under the fundamental, 41 frames late
}

// The resamplers, with nothing but the averaging between them, pass every tone
// to 20 kHz within 0.002 dB in level and 0.013° in phase of a delay of whole
// frames. So what they bring cancels the input that it is to replace.
func TestResamplersAreFlat(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 48000, 96000, 192000, 384000} {
		o, worst := newOversampler(rateHz), 0.0
		buf := dsptest.Impulse(4096, 0)
		for at := 0; at < len(buf); at += chunk {
			o.run(buf[at:at+chunk], averaging{})
		}
		for freqHz := 20.0; freqHz <= min(20000, passCycles*rateHz); freqHz += 20 {
			sum := 0i
			for i, f := range buf {
				_, turn := math.Modf(float64(i-o.delay) * freqHz / rateHz)
				sum += cmplx.Rect(f[0], -2*math.Pi*turn)
			}
			worst = max(worst, cmplx.Abs(sum-1))
		}
		t.Logf("%g Hz: %.1e", rateHz, worst)
		if !(worst < 2.3e-4) {
			t.Errorf("at %g Hz the resamplers change a tone by %.1e of it", rateHz, worst)
		}
	}
}

// averaging is the curve f(u) = 2u, which adds the mean of u itself.
type averaging struct{}

func (averaging) reset() {}

func (averaging) bend(buf []dsp.Frame) {
	before := dsp.Frame{}
	for i, u := range buf {
		buf[i] = dsp.Frame{(before[0] + u[0]) / 2, (before[1] + u[1]) / 2}
		before = u
	}
}
