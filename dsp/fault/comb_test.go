package fault_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// A copy at g dB makes peaks of 20·log10(1 + g) and dips of 20·log10(1 − g):
// values computed independently.
func TestCombRipple(t *testing.T) {
	for _, c := range []struct{ levelDB, peakDB, dipDB float64 }{
		{-1, 5.535, -19.272}, {-3, 4.650, -10.691}, {-6, 3.529, -6.041}, {-9.542, 2.499, -3.522},
		{-12, 1.947, -2.513}, {-18, 1.030, -1.169}, {-26, 0.425, -0.447},
	} {
		for ms, dips := range map[float64][]float64{1: {500, 1500, 2500}, 2: {250, 750}, 0.5: {1000, 3000, 5000}, 10: {50, 150}} {
			set := dsp.Setting{"delayMS": ms, "levelDB": c.levelDB}
			at := func(freqHz float64, set dsp.Setting) float64 {
				return dsp.ToDB(cmplx.Abs(fault.Comb.Response(48000, freqHz, set)))
			}
			for _, dipHz := range dips {
				what := fmt.Sprintf("%g dB, %g ms, ", c.levelDB, ms)
				near(t, what+"dip", at(dipHz, set), c.dipDB, 0.005)
				near(t, what+"dip of the inverted copy", at(1000/ms, set.With("inverted", 1)), c.dipDB, 0.005)
				near(t, what+"peak", at(1000/ms, set), c.peakDB, 0.005)
			}
		}
	}
	// 1 m at 343 m/s takes 2.91545 ms.
	near(t, "1 m, in ms", fault.CombMS(dsp.Setting{"delayMS": 0, "distanceCM": 100}), 2.91545, 1e-5)
}

// What delays by part of a sample forgets what has left its reel.
func TestReelForgets(t *testing.T) {
	for _, c := range []struct {
		spec dsp.Spec
		set  dsp.Setting
	}{
		{fault.Comb, dsp.Setting{"delayMS": 7.3, "levelDB": -3}}, {fault.Flutter, dsp.Setting{"wowPct": 1, "flutterPct": 0.3}},
	} {
		p, err := c.spec.New(48000, c.set)
		if err != nil {
			t.Fatal(err)
		}
		dsptest.Forgets(t, p, 48000)
	}
}

// On every material a copy is found at its delay within 0.01 ms and its level
// within 1.7 dB, with its polarity; and none where there is none.
func TestCombIsFound(t *testing.T) {
	worst := 0.0
	for _, m := range materials(t) {
		if got := measure.CombOf(m.frames, m.rateHz); got.DelayMS != 0 || !math.IsInf(got.LevelDB, -1) {
			t.Errorf("%s, untouched: %+v", m.name, got)
		}
		for _, c := range []struct{ ms, db, inverted float64 }{{0.5, -6, 0}, {1, -12, 0}, {3, -3, 1}, {10, -18, 0}, {10, -6, 1}, {25, -12, 0}} {
			set := dsp.Setting{"delayMS": c.ms, "levelDB": c.db, "inverted": c.inverted}
			got := measure.CombOf(m.through(t, fault.Comb, set), m.rateHz)
			what := fmt.Sprintf("%s: %g ms at %g dB, ", m.name, c.ms, c.db)
			near(t, what+"delay", got.DelayMS, c.ms, 0.01)
			near(t, what+"level", got.LevelDB, c.db, 1.7)
			if got.Inverted != (c.inverted == 1) {
				t.Errorf("%sinverted is %v", what, got.Inverted)
			}
			worst = max(worst, math.Abs(got.LevelDB-c.db))
		}
	}
	t.Logf("worst level: %.2f dB", worst)
}

// What is interpolated is the copy itself: a sine against its formula.
func TestCombBySample(t *testing.T) {
	m := material{"tone", 44100, dsptest.Sine(44100, 7000, 0.5, 0, 4000)}
	got := m.through(t, fault.Comb, dsp.Setting{"delayMS": 0.333, "levelDB": -6})
	for i := 1000; i < 3000; i++ {
		want := m.frames[i][0] + 0.5*dsp.FromDB(-6)*math.Sin(2*math.Pi*7000*(float64(i)/44100-0.000333))
		near(t, "sample", got[i][0], want, 1e-5)
	}
}
