package dynamics

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// Table of tone cases of EBU Tech 3341 (2023), 15 to 19: a sine at a fraction
// of the rate whose samples miss its peak; the true peak in dBTP.
func TestCurveReadsTones(t *testing.T) {
	for _, c := range []struct{ cycles, ratio, phaseDeg, wantDBTP float64 }{
		{1. / 4, 0.5, 0, -6.0206}, {1. / 4, 0.5, 45, -6.0206}, {1. / 6, 0.5, 60, -6.0206}, {1. / 8, 0.5, 67.5, -6.0206},
		{1. / 4, 1.41, 45, 2.9844}, {0.4535, 1, 10, 0}, // the last: 20 kHz at 44.1 kHz
	} {
		buf, most := dsptest.Sine(1, c.cycles, c.ratio, c.phaseDeg*math.Pi/180, 2000), 0.0
		ip, before := newInterpolator(), 2.0
		for n := range len(buf) - 2*reach {
			left, _ := ip.between((*[2 * reach]dsp.Frame)(buf[n:]))
			if n > 0 {
				most = max(most, left.peak(before, 0))
			}
			before = left[places-1]
		}
		if got := dsp.ToDB(most); math.Abs(got-c.wantDBTP) > 0.03 {
			t.Errorf("%g of the rate at %g°: %.4f dBTP, want %.4f ± 0.03", c.cycles, c.phaseDeg, got, c.wantDBTP)
		}
	}
}

// truePeakDB is the greatest of 16 places per sample, by a sinc of 64 samples to
// each side under a Blackman window: longer, finer and of another shape than
// what the limiter uses.
func truePeakDB(buf []dsp.Frame) float64 {
	const half = 64
	most := 0.0
	for k := range 16 {
		var taps [2 * half]float64
		for i := range taps {
			d := float64(k)/16 - float64(i-half+1)
			taps[i] = 0.42 + 0.5*math.Cos(math.Pi*d/half) + 0.08*math.Cos(2*math.Pi*d/half)
			if d != 0 {
				taps[i] *= math.Sin(math.Pi*d) / (math.Pi * d)
			}
		}
		for n := range len(buf) - 2*half {
			var l, r float64
			for i, tap := range &taps {
				l += tap * buf[n+i][0]
				r += tap * buf[n+i][1]
			}
			most = max(most, math.Abs(l), math.Abs(r))
		}
	}
	return dsp.ToDB(most)
}

func samplePeak(buf []dsp.Frame) (most float64) {
	for _, f := range buf {
		most = max(most, math.Abs(f[0]), math.Abs(f[1]))
	}
	return most
}

// bandLimited keeps what lies under 0.42 of the rate (20 kHz at 48 kHz), as a
// converter does: a Blackman-windowed sinc of 129 taps.
func bandLimited(buf []dsp.Frame) []dsp.Frame {
	const half, cut = 64, 0.42 - 5.5/256
	out := make([]dsp.Frame, len(buf))
	for i := -half; i <= half; i++ {
		x := math.Pi * float64(i)
		tap := 2 * cut * (0.42 + 0.5*math.Cos(x/half) + 0.08*math.Cos(2*x/half))
		if i != 0 {
			tap *= math.Sin(2*cut*x) / (2 * cut * x)
		}
		for n := max(0, i); n < min(len(buf), len(buf)+i); n++ {
			out[n][0] += tap * buf[n-i][0]
			out[n][1] += tap * buf[n-i][1]
		}
	}
	return out
}

// times is buf, ratio times as loud.
func times(ratio float64, buf []dsp.Frame) []dsp.Frame {
	dsp.Gain(ratio).Process(buf)
	return buf
}

func loudSignals(rateHz float64, n int) map[string][]dsp.Frame {
	clicks := make([]dsp.Frame, n)
	for i := 50; i < n; i += 1 + i/3 {
		clicks[i] = dsp.Frame{float64(i%7) - 3, 3}
	}
	return map[string][]dsp.Frame{
		"noise":       bandLimited(dsptest.Noise(1, 0.7, n)),
		"music":       times(8, dsptest.Music(rateHz, 1, n)),
		"square":      bandLimited(dsptest.Square(rateHz, 1234, 2, n)),
		"sine 50 Hz":  dsptest.Sine(rateHz, 50, 1.5, 0.7, n),
		"sine at 1/4": dsptest.Sine(rateHz, rateHz/4-1, 1.5, 0.7, n),
		"sine 20 kHz": dsptest.Sine(rateHz, 20000, 3, 0.7, n),
		"sweep":       dsptest.Sweep(rateHz, 20, 20000, 4, n),
		"clicks":      bandLimited(clicks),
		"+100 dB":     bandLimited(dsptest.Noise(3, 1e5, n)),
	}
}

// No sample above the ceiling, no true peak more than 0.1 dB above it, for all
// that a converter can deliver.
func TestLimiterHoldsTheCeiling(t *testing.T) {
	worst := math.Inf(-1)
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for name, in := range loudSignals(rateHz, 12000) {
			for _, s := range []dsp.Setting{{}, {"ceilingDBTP": -1}, {"ceilingDBTP": -12, "lookaheadMS": 0.5, "releaseMS": 10}} {
				ceilingDB := s.Get(limiterCeiling)
				p, err := Limiter.New(rateHz, s)
				if err != nil {
					t.Fatal(err)
				}
				buf := slices.Clone(in)
				p.Process(buf)
				if got := samplePeak(buf); got > dsp.FromDB(ceilingDB)*(1+1e-12) {
					t.Errorf("%s at %g Hz, %v: a sample of %.9f", name, rateHz, s, got)
				}
				over := truePeakDB(buf) - ceilingDB
				worst = max(worst, over)
				if !(over <= 0.1) {
					t.Errorf("%s at %g Hz, %v: true peak %.3f dB above the ceiling", name, rateHz, s, over)
				}
			}
		}
	}
	t.Logf("worst true peak: %+.3f dB above the ceiling", worst)
}

// Noise up to half the rate has no one true peak: reconstruction filters
// differ by as much. The samples keep to the ceiling all the same, and the
// curve is far lower than if samples alone had been watched (about +2 dB).
func TestLimiterOnNoiseToHalfTheRate(t *testing.T) {
	p, _ := Limiter.New(48000, dsp.Setting{"ceilingDBTP": -1})
	buf := dsptest.Noise(1, 0.5, 48000)
	p.Process(buf)
	over := truePeakDB(buf) + 1
	t.Logf("true peak %+.3f dB above the ceiling", over)
	if samplePeak(buf) > dsp.FromDB(-1)*(1+1e-12) || over > 0.4 {
		t.Errorf("sample peak %.9f, true peak %+.3f dB above the ceiling", samplePeak(buf), over)
	}
}

// The same judged by sox, which resamples to 16 times the rate.
func TestLimiterAgainstSox(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		t.Skip("sox is not installed")
	}
	for _, name := range []string{"noise", "square", "sine 20 kHz", "sweep", "+100 dB"} {
		p, _ := Limiter.New(48000, dsp.Setting{"ceilingDBTP": -1})
		buf := loudSignals(48000, 24000)[name]
		p.Process(buf)
		var pcm bytes.Buffer
		binary.Write(&pcm, binary.LittleEndian, times(0.1, buf)) // room for sox, which clips at 1
		cmd := exec.Command(sox, "-t", "f64", "-r", "48000", "-c", "2", "-", "-t", "f64", "-", "rate", "-v", "-b", "95", "768000")
		cmd.Stdin = &pcm
		raw, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		out := make([]dsp.Frame, len(raw)/16)
		binary.Read(bytes.NewReader(raw), binary.LittleEndian, out)
		out = out[16*500 : len(out)-16*500] // not the edges, where the cut itself rings
		over := dsp.ToDB(10*samplePeak(out)) + 1
		t.Logf("%s: %+.3f dB above the ceiling", name, over)
		if !(over <= 0.1 && over > -0.6) {
			t.Errorf("%s: sox reads %.3f dB above the ceiling", name, over)
		}
	}
}

// Under the ceiling nothing changes but the time.
func TestLimiterPassesWhatIsUnder(t *testing.T) {
	for _, rateHz := range []float64{44100, 192000} {
		p, _ := Limiter.New(rateHz, nil)
		in := append(times(1.8, dsptest.Music(rateHz, 3, 50000)), make([]dsp.Frame, dsp.DelayFrames(p))...)
		buf := slices.Clone(in)
		p.Process(buf)
		if !slices.Equal(buf[dsp.DelayFrames(p):], in[:50000]) {
			t.Errorf("at %g Hz: music that peaks at 0.9 comes out changed", rateHz)
		}
	}
}

// After a peak the gain comes back in full, to the bit.
func TestLimiterComesBack(t *testing.T) {
	p, _ := Limiter.New(48000, dsp.Setting{"releaseMS": 10})
	in := append(dsptest.Noise(1, 3, 1000), times(0.5, dsptest.Music(48000, 1, 48000))...)
	buf := slices.Clone(in)
	p.Process(buf)
	at, d := 25000, dsp.DelayFrames(p)
	if !slices.Equal(buf[at:], in[at-d:len(in)-d]) {
		t.Error("half a second after a burst of noise the gain is not back to 1")
	}
}

// The release, read from the gain a lone peak leaves on a steady level.
func TestLimiterRelease(t *testing.T) {
	const releaseMS = 100.0
	p, _ := Limiter.New(48000, dsp.Setting{"releaseMS": releaseMS})
	buf := make([]dsp.Frame, 20000)
	for i := range buf {
		buf[i] = dsp.Frame{0.1, -0.1}
	}
	for i := 1000; i < 1200; i++ {
		buf[i] = dsp.Frame{2, 2}
	}
	p.Process(buf)
	early, late := 1-buf[3000][0]/0.1, 1-buf[3000+4800][0]/0.1
	if tau := releaseMS / math.Log(early/late); math.Abs(tau-releaseMS) > 1e-3 {
		t.Errorf("a release of %g ms measures %.4f ms", releaseMS, tau)
	}
}

// Both channels share one gain: the loud left one lowers the right one alike.
func TestLimiterSharesTheGain(t *testing.T) {
	p, _ := Limiter.New(48000, nil)
	buf := dsptest.Sine(48000, 100, 2, 0, 9600)
	for i := range buf {
		buf[i][1] *= -0.25
	}
	p.Process(buf)
	for i, f := range buf {
		if math.Abs(f[0]*-0.25-f[1]) > 1e-15 {
			t.Fatalf("frame %d is %v: the channels have different gains", i, f)
		}
	}
}

// What is not a number leaves as silence, and harms nothing after it.
func TestLimiterStopsFaults(t *testing.T) {
	p, _ := Limiter.New(48000, nil)
	buf := dsptest.Music(48000, 1, 4000)
	want := slices.Clone(buf)
	for i, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		buf[100*i+100], want[100*i+100] = dsp.Frame{x, -x}, dsp.Frame{}
	}
	p.Process(buf)
	if d := dsp.DelayFrames(p); !slices.Equal(buf[d:], want[:len(want)-d]) {
		t.Error("infinities and NaN do more than leave a gap of their own length")
	}
}

// The short cut for what plainly needs no reduction gives the same bits as
// looking at every interval.
func TestLimiterShortCut(t *testing.T) {
	for name, in := range loudSignals(48000, 12000) {
		for _, ratio := range []float64{0.1, 0.35, 0.6, 1} {
			short, full := newLimiter(48000, -1, 2, 10), newLimiter(48000, -1, 2, 10)
			full.ip.curvature = 1e300 // now every interval that bends at all is looked at
			a, b := times(ratio, slices.Clone(in)), times(ratio, slices.Clone(in))
			short.Process(a)
			full.Process(b)
			if !slices.Equal(a, b) {
				t.Errorf("%s at %g: the short cut changes the output", name, ratio)
			}
		}
	}
}

func ExampleLimiter() {
	p, _ := Limiter.New(48000, dsp.Setting{"ceilingDBTP": -1})
	buf := dsptest.Sine(48000, 997, 4, 0, 4800)
	p.Process(buf)
	fmt.Printf("%.1f dBFS, %d frames late\n", dsp.ToDB(samplePeak(buf)), dsp.DelayFrames(p))
	// Output: -1.0 dBFS, 126 frames late
}
