package measure

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/eq"
)

func newSweep(t testing.TB, rateHz, fromHz, toHz, seconds float64) *Sweep {
	t.Helper()
	s, err := NewSweep(rateHz, fromHz, toHz, seconds)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A shaper passes each sample through a curve.
type shaper func(x float64) float64

func (shaper) Reset() {}

func (s shaper) Process(buf []dsp.Frame) {
	for i, f := range buf {
		buf[i] = dsp.Frame{s(f[0]), s(f[1])}
	}
}

// The published design for 20 Hz to 6 kHz in 4 s, computed independently.
func TestSweepDesign(t *testing.T) {
	s := newSweep(t, 48000, 20, 6000, 4)
	near(t, "L", s.LS, 0.7, 1e-9)
	near(t, "length", s.LengthS, 3.992648, 1e-6)
	near(t, "lead of the second order", s.LeadS(2), 0.485203, 1e-6)
	near(t, "lead of the third order", s.LeadS(3), 0.769029, 1e-6)
}

// x + 0.12x² + 0.08x³ of a sine is 1.06 sin φ − 0.06 cos 2φ − 0.02 sin 3φ and
// a constant, so that the orders are 1.06, −0.06i and −0.02: within 0.5 %.
func TestSweepTellsHarmonicsApart(t *testing.T) {
	cubic := shaper(func(x float64) float64 { return x + 0.12*x*x + 0.08*x*x*x })
	for _, rateHz := range []float64{44100, 48000} {
		left, right := newSweep(t, rateHz, 20, 6000, 4).Measure(cubic, 1)
		worst := 0.0
		for _, freqHz := range []float64{30, 63, 100, 250, 500, 997, 2000, 4000, 5500} {
			for order, want := range []complex128{1.06, -0.06i, -0.02, 0, 0} {
				if float64(order+1)*freqHz > rateHz/2 {
					continue
				}
				got := left.Harmonic(order+1, freqHz)
				tolerance := max(0.005*cmplx.Abs(want), 1e-4)
				if freqHz < 60 {
					tolerance *= 6 // near the fade
				}
				if d := cmplx.Abs(got - want); d > tolerance {
					t.Errorf("%g Hz at a rate of %g Hz, order %d: %.5f, want %.5f", freqHz, rateHz, order+1, got, want)
				} else if want != 0 && freqHz > 60 {
					worst = max(worst, d/cmplx.Abs(want))
				}
				if got != right.Harmonic(order+1, freqHz) {
					t.Errorf("%g Hz, order %d: the channels differ", freqHz, order+1)
				}
			}
		}
		t.Logf("rate %g Hz: off by %.4f %% at most", rateHz, 100*worst)
	}
}

// The distortion of a unit sine by x − x³/3 is a third harmonic of a ninth:
// 11.1111 %, from the formula.
func TestSweepOfSoftClip(t *testing.T) {
	r, _ := newSweep(t, 48000, 20, 6000, 4).Measure(shaper(func(x float64) float64 { return x - x*x*x/3 }), 1)
	near(t, "third over first", cmplx.Abs(r.Harmonic(3, 1000))/cmplx.Abs(r.Harmonic(1, 1000)), 1.0/9, 0.0003)
}

// A level under full scale is divided out of what is linear, and shows in what
// is not: x³ at a tenth adds a hundredth of the third harmonic.
func TestSweepAtOtherLevels(t *testing.T) {
	s := newSweep(t, 48000, 20, 6000, 4)
	r, _ := s.Measure(shaper(func(x float64) float64 { return 0.5*x + 0.08*x*x*x }), 0.1)
	near(t, "first", cmplx.Abs(r.Harmonic(1, 1000)), 0.5+0.0006, 1e-4)
	near(t, "third", cmplx.Abs(r.Harmonic(3, 1000)), 0.0002, 2e-6)
}

// Of any peak filter at any place in the sweep: gain, phase and group delay
// are those of its stated response.
func TestSweepOfPeakProperty(t *testing.T) {
	const rateHz = 16000
	s := newSweep(t, rateHz, 20, 7500, 3)
	rapid.Check(t, func(t *rapid.T) {
		set := dsp.Setting{
			"freqHz": 40 * math.Exp2(rapid.Float64Range(0, 7).Draw(t, "octave")),
			"gainDB": rapid.Float64Range(-15, 15).Draw(t, "gainDB"),
			"q":      rapid.Float64Range(0.3, 6).Draw(t, "q"),
		}
		freqHz := 25 * math.Exp2(rapid.Float64Range(0, 8).Draw(t, "at"))
		p, err := eq.Peak.New(rateHz, set)
		if err != nil {
			t.Fatal(err)
		}
		r, _ := s.Measure(p, 0.25)
		want := eq.Peak.Response(rateHz, freqHz, set)
		tolerance := 0.002
		if freqHz < 60 {
			tolerance = 0.017
		}
		if got := r.At(freqHz); cmplx.Abs(got/want-1) > tolerance {
			t.Fatalf("%.1f Hz: %.5f, want %.5f", freqHz, got, want)
		}
		const step = 1e-4
		next := eq.Peak.Response(rateHz, freqHz*(1+step), set)
		delayS := -cmplx.Phase(next/want) / (2 * math.Pi * freqHz * step)
		if got := r.GroupDelayS(freqHz); math.Abs(got-delayS) > tolerance*(math.Abs(delayS)+5/freqHz) {
			t.Fatalf("%.1f Hz: a group delay of %.7f s, want %.7f s", freqHz, got, delayS)
		}
	})
}

// An all-pass filter of the Audio EQ Cookbook (R. Bristow-Johnson, W3C Group
// Note, 2021) at 1 kHz and 48 kHz: the group delay there, in frames, computed
// independently from its formula. Its gain is 1 everywhere.
func TestSweepOfAllPass(t *testing.T) {
	const rateHz = 48000
	s := newSweep(t, rateHz, 20, 20000, 4)
	for q, want := range map[float64]float64{0.5: 15.3226, math.Sqrt2 / 2: 21.6694, 1: 30.6452, 2: 61.2904, 5: 153.2260} {
		r, _ := s.Measure(eq.NewBiquad(eq.CookbookAllPass(rateHz, 1000, q)), 0.5)
		near(t, fmt.Sprintf("Q %.3f: frames", q), r.GroupDelayS(1000)*rateHz, want, 0.01)
		near(t, fmt.Sprintf("Q %.3f: turn", q), math.Abs(r.PhaseRad(1000)), math.Pi, 1e-3)
		for _, freqHz := range []float64{30, 500, 1000, 3000, 18000} {
			near(t, fmt.Sprintf("Q %.3f: gain at %g Hz", q, freqHz), r.GainDB(freqHz), 0, 0.005)
		}
	}
}

// A processor that says how late it is, is measured without its latency.
func TestSweepTakesLatencyOut(t *testing.T) {
	s := newSweep(t, 48000, 20, 20000, 2)
	for _, n := range []int{0, 1, 480, 5000} {
		r, _ := s.Measure(&late{n: n}, 0.5)
		for _, freqHz := range []float64{20, 100, 1000, 20000} {
			if d := cmplx.Abs(r.At(freqHz) - 1); d > 1e-9 {
				t.Errorf("%d frames late: %g Hz is off by %g", n, freqHz, d)
			}
			near(t, fmt.Sprintf("%d frames late, %g Hz", n, freqHz), r.GroupDelayS(freqHz), 0, 1e-9)
		}
	}
}

// late passes sound on n frames later.
type late struct {
	n    int
	held []dsp.Frame
}

func (l *late) DelayFrames() int { return l.n }
func (l *late) Reset()           { l.held = make([]dsp.Frame, l.n) }
func (l *late) Process(buf []dsp.Frame) {
	all := append(l.held, buf...)
	copy(buf, all)
	l.held = append([]dsp.Frame(nil), all[len(buf):]...)
}

func TestSweepOutsideItsRange(t *testing.T) {
	r, _ := newSweep(t, 48000, 50, 10000, 2).Measure(dsp.Gain(1), 1)
	for _, freqHz := range []float64{0, 49, 10001, math.NaN()} {
		if !cmplx.IsNaN(r.At(freqHz)) || !math.IsNaN(r.GroupDelayS(freqHz)) || !cmplx.IsNaN(r.Harmonic(2, freqHz)) {
			t.Errorf("there is a response at %g Hz", freqHz)
		}
	}
	if !cmplx.IsNaN(r.Harmonic(3, 9000)) {
		t.Error("there is a harmonic above half the rate")
	}
	for _, c := range [][4]float64{{100, 20, 1000, 4}, {48000, 0, 1000, 4}, {48000, 20, 20, 4}, {48000, 20, 24001, 4}, {48000, 20, 20000, 0.1}, {48000, 20, 20000, math.NaN()}} {
		if _, err := NewSweep(c[0], c[1], c[2], c[3]); err == nil {
			t.Errorf("NewSweep%v is made", c)
		}
	}
}

func BenchmarkSweep(b *testing.B) {
	s := newSweep(b, 48000, 20, 20000, 4)
	recorded := Left.Samples(s.Frames())
	for b.Loop() {
		s.Response(recorded, 1)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(recorded)), "ns/frame")
}
