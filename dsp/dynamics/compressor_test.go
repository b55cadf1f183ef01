package dynamics

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

func build(t testing.TB, spec dsp.Spec, s dsp.Setting) dsp.Processor {
	t.Helper()
	p, err := spec.New(48000, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// sineDB is the reduction in dB of a steady sine of levelDB, by what is left of
// it in the last fifth of a second.
func sineDB(p dsp.Processor, freqHz, levelDB float64) float64 {
	in := dsptest.Sine(48000, freqHz, dsp.FromDB(levelDB), 0.3, 96000)
	out := slices.Clone(in)
	p.Process(out)
	tail := len(in) - 9600
	var xx, xy float64
	for i := tail; i < len(in); i++ {
		xx += in[i][0] * in[i][0]
		xy += in[i][0] * out[i][0]
	}
	return -dsp.ToDB(xy / xx)
}

// On a steady sine of 997 Hz the compressor does what its curve says: JAES
// 60(6) (2012), eq. 4, within 0.03 dB up to 18 dB of reduction.
func TestCompressorFollowsItsCurveOnASine(t *testing.T) {
	worst, worstLoop := 0.0, 0.0
	for _, s := range []dsp.Setting{
		{"thresholdDB": -20, "ratio": 4, "kneeDB": 0, "attackMS": 5},
		{"thresholdDB": -20, "ratio": 4, "kneeDB": 6},
		{"thresholdDB": -24, "ratio": 2, "kneeDB": 12, "attackMS": 30, "releaseMS": 300},
		{"thresholdDB": -10, "ratio": 20, "kneeDB": 2},
		{"thresholdDB": -30, "ratio": 1.5, "kneeDB": 20},
	} {
		for levelDB := -60.0; levelDB <= 0; levelDB += 3 {
			want := levelDB - CurveDB(levelDB, s.Get(threshold), s.Get(ratio), s.Get(kneeWidth))
			off := sineDB(build(t, Compressor, s), 997, levelDB) - want
			worst = max(worst, math.Abs(off))
			if !(math.Abs(off) <= 0.03) {
				t.Errorf("{%s} at %g dB: off by %.4f dB", s.Text(Compressor.Params), levelDB, off)
			}
			loop := sineDB(build(t, Compressor, s.With("topology", 0)), 997, levelDB) - want
			worstLoop = min(worstLoop, loop)
			if !(loop <= 0.03 && loop > -2) {
				t.Errorf("{%s} in feedback, at %g dB: %+.4f dB from the curve", s.Text(Compressor.Params), levelDB, loop)
			}
		}
	}
	t.Logf("worst: %.4f dB feed-forward, %.2f dB feedback", worst, worstLoop)
}

// For a steady level feedback settles on the same curve as feed-forward.
func TestFeedbackSettlesOnTheCurve(t *testing.T) {
	for _, s := range []dsp.Setting{
		{"thresholdDB": -20, "ratio": 4, "kneeDB": 0}, {"thresholdDB": -24, "ratio": 2, "kneeDB": 12}, {"thresholdDB": -30, "ratio": 20, "kneeDB": 24},
	} {
		for levelDB := -50.0; levelDB <= 0; levelDB += 2.5 {
			p := build(t, Compressor, s.With("topology", 0))
			trace := reductionsDB(p, stepDB(levelDB, levelDB, 0, 48000))
			want := levelDB - CurveDB(levelDB, s.Get(threshold), s.Get(ratio), s.Get(kneeWidth))
			if got := trace[len(trace)-1]; math.Abs(got-want) > 1e-6 {
				t.Errorf("{%s} at %g dB: %.8f dB, want %.8f", s.Text(Compressor.Params), levelDB, got, want)
			}
		}
	}
}

// A square's mean power is 3.01 dB above that of a sine of the same peak.
func TestRMS(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -30, "ratio": 4, "kneeDB": 0, "attackMS": 1, "releaseMS": 200}
	sine := sineDB(build(t, Compressor, s.With("rmsMS", 50)), 997, -10)
	if math.Abs(sine-15) > 0.05 {
		t.Errorf("a sine 20 dB over: %.3f dB, want 15 as with peaks", sine)
	}
	square := dsptest.Square(48000, 1000, dsp.FromDB(-10), 96000)
	trace := reductionsDB(build(t, Compressor, s.With("rmsMS", 50)), square)
	if got, want := trace[len(trace)-1]-15, 0.75*10*math.Log10(2); math.Abs(got-want) > 0.01 {
		t.Errorf("a square gets %.3f dB more than a sine, want %.3f", got, want)
	}
	if got := reductionsDB(build(t, Compressor, s), square)[90000]; math.Abs(got-15) > 1e-6 {
		t.Errorf("a square with peaks: %.4f dB, want 15", got)
	}
}

// Left 20 dB over the threshold, right 20 dB under it.
func TestStereoLink(t *testing.T) {
	for _, feedback := range []float64{0, 1} {
		for linkPct, want := range map[float64][2]float64{100: {15, 15}, 50: {15, 0}, 75: {15, 7.5}, 0: {15, 0}} {
			p := build(t, Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "kneeDB": 0, "linkPct": linkPct, "topology": feedback})
			in := slices.Repeat([]dsp.Frame{{dsp.FromDB(-10), dsp.FromDB(-50)}}, 96000)
			out := slices.Clone(in)
			p.Process(out)
			for side, wantDB := range want {
				if got := dsp.ToDB(in[0][side] / out[len(out)-1][side]); math.Abs(got-wantDB) > 1e-6 {
					t.Errorf("link %g %%, topology %g, channel %d: %.6f dB, want %g", linkPct, feedback, side, got, wantDB)
				}
			}
		}
	}
}

// Linked channels keep their image: the same gain for both, on music.
func TestLinkKeepsTheImage(t *testing.T) {
	in := dsptest.Music(48000, 1, 20000)
	out := slices.Clone(in)
	build(t, Compressor, dsp.Setting{"thresholdDB": -40, "ratio": 8}).Process(out)
	for i := range in {
		if d := out[i][0]*in[i][1] - out[i][1]*in[i][0]; math.Abs(d) > 1e-15 {
			t.Fatalf("frame %d: the channels' gains differ by %g", i, d)
		}
	}
}

// By the time the sound is there, the gain has moved for the look-ahead.
func TestLookahead(t *testing.T) {
	for _, look := range []float64{1, 5, 10} {
		p := build(t, Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "attackMS": 5, "lookaheadMS": look})
		n := dsp.DelayFrames(p)
		if want := int(look * 48); n != want {
			t.Errorf("%g ms delays by %d frames, want %d", look, n, want)
		}
		const at = 1000
		buf := stepDB(-80, -10, at, 48000)
		p.Process(buf)
		got := dsp.ToDB(dsp.FromDB(-10) / buf[at+n][0])
		if want := 15 * (1 - math.Exp(-(float64(n)+1)/(5*48))); math.Abs(got-want) > 1e-3 {
			t.Errorf("%g ms: the first frame is reduced by %.4f dB, want %.4f", look, got, want)
		}
	}
}

// A low cut of second order is 3.01 dB down at its corner and 12.3 dB an octave
// below (10·log10(1 + 2^4), Butterworth 1930).
func TestSidechainLowCut(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -40, "ratio": 2, "kneeDB": 0, "attackMS": 1, "releaseMS": 1000, "sidechainHz": 400}
	for freqHz, down := range map[float64]float64{400: 10 * math.Log10(2), 200: 10 * math.Log10(17), 800: 10 * math.Log10(1+1./16)} {
		if got, want := sineDB(build(t, Compressor, s), freqHz, 0), (40-down)/2; math.Abs(got-want) > 0.06 {
			t.Errorf("%g Hz: %.3f dB of reduction, want %.3f", freqHz, got, want)
		}
	}
}

// H(s) = (g·s + ω)/(s + g·ω), g = 10^(tilt/40).
func TestSidechainTilt(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -40, "ratio": 2, "kneeDB": 0, "attackMS": 1, "releaseMS": 1000, "sidechainTiltDB": 9}
	g := math.Pow(10, 9./40)
	for _, freqHz := range []float64{100, 400, 1000, 4000} {
		w := math.Tan(math.Pi*freqHz/48000) / math.Tan(math.Pi*tiltPivotHz/48000)
		up := dsp.ToDB(cmplx.Abs(complex(1, g*w) / complex(g, w)))
		if got, want := sineDB(build(t, Compressor, s), freqHz, -6), (34+up)/2; math.Abs(got-want) > 0.06 {
			t.Errorf("%g Hz: %.3f dB of reduction, want %.3f", freqHz, got, want)
		}
	}
}

// heldFor is the time in ms in which the reduction falls to 37 % after the sound
// has been loud for so long.
func heldFor(t testing.TB, spec dsp.Spec, s dsp.Setting, loudMS float64) float64 {
	at := int(loudMS * 48)
	trace := reductionsDB(build(t, spec, s), stepDB(-10, -100, at, at+40*48000))
	return timeMS(trace, at, 48000)
}

func TestProgrammeDependentRelease(t *testing.T) {
	for _, topology := range []float64{0, 1} {
		s := dsp.Setting{"thresholdDB": -40, "ratio": 4, "attackMS": 1, "releaseMS": 100, "topology": topology}
		dependent := s.With("programmePct", 70)
		short, long := heldFor(t, Compressor, dependent, 20), heldFor(t, Compressor, dependent, 5000)
		if short > 115 || long < 300 {
			t.Errorf("topology %g: %.0f ms after 20 ms, %.0f ms after 5 s", topology, short, long)
		}
		short, long = heldFor(t, Compressor, s, 20), heldFor(t, Compressor, s, 5000)
		if math.Abs(short-100) > 2 || math.Abs(long-100) > 2 {
			t.Errorf("topology %g, independent: %.1f ms after 20 ms, %.1f ms after 5 s, want 100", topology, short, long)
		}
		// The curve is not touched by it.
		if got := reductionsDB(build(t, Compressor, dependent), stepDB(-10, -10, 0, 96000))[95999]; math.Abs(got-22.5) > 1e-6 {
			t.Errorf("topology %g: settles at %.6f dB, want 22.5", topology, got)
		}
	}
}

func TestMixAndMakeup(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -30, "ratio": 4, "makeupDB": 9, "mixPct": 40}
	trace := reductionsDB(build(t, Compressor, s), stepDB(-10, -10, 0, 48000))
	if got, want := -trace[47999], dsp.ToDB(0.6+0.4*dsp.FromDB(9-15)); math.Abs(got-want) > 1e-6 {
		t.Errorf("%.6f dB, want %.6f", got, want)
	}
}

// What the Reducer tells is what was done to the sound, frame by frame.
func TestReductionDB(t *testing.T) {
	in := dsptest.Music(48000, 1, 30000)
	for _, c := range []struct {
		spec dsp.Spec
		set  dsp.Setting
	}{
		{Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "attackMS": 1}},
		{Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "linkPct": 30}},
		{Gate, dsp.Setting{"thresholdDB": -12, "rangeDB": 30, "holdMS": 5, "releaseMS": 20}},
		{Upward, dsp.Setting{"thresholdDB": -10, "ratio": 3}},
		{Transient, dsp.Setting{"attackDB": 9, "sustainDB": -6}},
	} {
		p := build(t, c.spec, c.set)
		out := slices.Clone(in)
		p.Process(out)
		var mean, most float64
		n := 0
		for i := range in {
			if in[i][0] == 0 || in[i][1] == 0 {
				n++ // a first frame of silence has no gain to be seen
				continue
			}
			l, r := dsp.ToDB(in[i][0]/out[i][0]), dsp.ToDB(in[i][1]/out[i][1])
			mean += (l + r) / 2
			for _, x := range []float64{l, r} {
				if math.Abs(x) > math.Abs(most) {
					most = x
				}
			}
		}
		mean /= float64(len(in) - n)
		gotMean, gotMost := p.(Reducer).ReductionDB()
		if math.Abs(gotMean-mean) > 0.002 || math.Abs(gotMost-most) > 1e-6 {
			t.Errorf("%s: mean %.4f, most %.4f; measured %.4f, %.4f", c.spec.ID, gotMean, gotMost, mean, most)
		}
		p.Reset()
		if a, b := p.(Reducer).ReductionDB(); a != 0 || b != 0 {
			t.Errorf("%s: after Reset %g, %g", c.spec.ID, a, b)
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		spec   dsp.Spec
		rateHz float64
		set    dsp.Setting
		want   string
	}{
		{Compressor, 48000, dsp.Setting{"attackMS": 30, "releaseMS": 20}, "a release cannot be faster than the attack"},
		{Gate, 48000, dsp.Setting{"attackMS": 30, "releaseMS": 20}, "a release cannot be faster"},
		{Expander, 48000, dsp.Setting{"attackMS": 30, "releaseMS": 20}, "a release cannot be faster"},
		{ThreeBand, 48000, dsp.Setting{"attackMS": 30, "releaseMS": 20}, "a release cannot be faster"},
		{DeEsser, 16000, dsp.Setting{"freqHz": 9000}, "too high for a sample rate of 16000 Hz"},
		{ThreeBand, 16000, dsp.Setting{"highHz": 9000}, "too high for a sample rate of 16000 Hz"},
	} {
		if p, err := c.spec.New(c.rateHz, c.set); p != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %v: %v, %v", c.spec.ID, c.set, p, err)
		}
	}
	if p, err := Compressor.New(48000, dsp.Setting{"attackMS": 30, "releaseMS": 20, "topology": 0}); p == nil || err != nil {
		t.Errorf("feedback has no such limit: %v", err)
	}
}

// A frame that is not a number is not heard by the detector.
func TestCompressorSurvivesNaN(t *testing.T) {
	p := build(t, Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "rmsMS": 5})
	buf := dsptest.Sine(48000, 997, 0.5, 0, 4800)
	buf[100] = dsp.Frame{math.NaN(), inf}
	p.Process(buf)
	if x := buf[4000][0]; math.IsNaN(x) || x == 0 {
		t.Errorf("long after a NaN: %g", x)
	}
}

func ExampleCurveDB() {
	for _, levelDB := range []float64{-30, -20, -10, 0} {
		fmt.Printf("%4g dB in, %g dB out\n", levelDB, CurveDB(levelDB, -20, 4, 6))
	}
	// Output:
	//  -30 dB in, -30 dB out
	//  -20 dB in, -20.5625 dB out
	//  -10 dB in, -17.5 dB out
	//    0 dB in, -15 dB out
}

func ExampleReducer() {
	p, err := Compressor.New(48000, dsp.Setting{"thresholdDB": -20, "ratio": 4, "attackMS": 1})
	if err != nil {
		panic(err)
	}
	p.Process(dsptest.Sine(48000, 997, dsp.FromDB(-8), 0, 5*48000))
	mean, most := p.(Reducer).ReductionDB()
	fmt.Printf("%.1f dB on average, %.1f dB at most", mean, most)
	// Output: 9.0 dB on average, 9.0 dB at most
}

func BenchmarkCompressor(b *testing.B) {
	for name, s := range map[string]dsp.Setting{
		"plain": {}, "feedback": {"topology": 0}, "unlinked": {"linkPct": 0}, "rms": {"rmsMS": 10},
		"programme": {"programmePct": 50}, "lookahead": {"lookaheadMS": 5}, "lowcut": {"sidechainHz": 100},
	} {
		b.Run(name, func(b *testing.B) {
			p := build(b, Compressor, s.With("ratio", 4).With("thresholdDB", -30))
			music, buf, at := dsptest.Music(48000, 1, 128*512), make([]dsp.Frame, 512), 0
			b.ReportAllocs()
			for b.Loop() {
				copy(buf, music[at:])
				p.Process(buf)
				at = (at + len(buf)) % len(music)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(buf)), "ns/frame")
		})
	}
}
