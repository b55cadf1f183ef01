package dynamics

import (
	"math"
	"testing"
)

var inf = math.Inf(1)

// Giannoulis, Massberg & Reiss, JAES 60(6) (2012), eq. 4; the values computed
// independently from the published formula.
func TestCurveDB(t *testing.T) {
	in := [...]float64{-40, -30, -25, -23, -20, -17, -15, -10, -6, 0}
	for _, c := range []struct {
		thresholdDB, ratio, kneeDB float64
		out                        [len(in)]float64
	}{
		{-20, 4, 0, [...]float64{-40, -30, -25, -23, -20, -19.25, -18.75, -17.5, -16.5, -15}},
		{-20, 4, 6, [...]float64{-40, -30, -25, -23, -20.5625, -19.25, -18.75, -17.5, -16.5, -15}},
		{-20, 4, 10, [...]float64{-40, -30, -25, -23.15, -20.9375, -19.4, -18.75, -17.5, -16.5, -15}},
		{-24, 2, 12, [...]float64{-40, -30, -25 - 0.5 - 1./48, -24 - 1./48, -22 - 1./12, -20.5, -19.5, -17, -15, -12}},
		{-10, 20, 2, [...]float64{-40, -30, -25, -23, -20, -17, -15, -10.2375, -9.8, -9.5}},
		{-30, 1.5, 20, [...]float64{-40, -30 - 5./6, -26.875, -25.25 - 19./120, -23 - 1./3, -21 - 1./3, -20, -16 - 2./3, -14, -10}},
		{-18, inf, 6, [...]float64{-40, -30, -25, -23, -20 - 1./12, -18 - 1./3, -18, -18, -18, -18}},
	} {
		for i, x := range in {
			if got := CurveDB(x, c.thresholdDB, c.ratio, c.kneeDB); math.Abs(got-c.out[i]) > 1e-9 {
				t.Errorf("T %g, R %g, W %g: %g dB becomes %.10f, want %.10f", c.thresholdDB, c.ratio, c.kneeDB, x, got, c.out[i])
			}
		}
	}
}

// The depth of a knee at the threshold is (1 − 1/R)·W/8, exactly.
func TestKneeDepth(t *testing.T) {
	for _, ratio := range []float64{1.5, 4, 20, inf} {
		for _, kneeDB := range []float64{0, 1, 6, 24} {
			if got, want := -20-CurveDB(-20, -20, ratio, kneeDB), (1-1/ratio)*kneeDB/8; math.Abs(got-want) > 1e-12 {
				t.Errorf("R %g, W %g: %g dB, want %g", ratio, kneeDB, got, want)
			}
		}
	}
}

// The same source turned over; values computed independently.
func TestExpandAndUpwardDB(t *testing.T) {
	for _, c := range []struct{ x, hard, soft float64 }{
		{-80, -120, -120}, {-60, -80, -80}, {-50, -60, -60}, {-42, -44, -44.45}, {-40, -40, -41.25}, {-38, -38, -38.45}, {-35, -35, -35},
	} {
		if h, s := ExpandDB(c.x, -40, 2, 0), ExpandDB(c.x, -40, 2, 10); math.Abs(h-c.hard) > 1e-9 || math.Abs(s-c.soft) > 1e-9 {
			t.Errorf("expander: %g dB becomes %g and %g, want %g and %g", c.x, h, s, c.hard, c.soft)
		}
	}
	for _, c := range []struct{ x, hard, soft float64 }{
		{-60, -45, -45}, {-40, -35, -35}, {-32, -31, -30.775}, {-30, -30, -29.375}, {-28, -28, -27.775},
	} {
		if h, s := UpwardDB(c.x, -30, 2, 0), UpwardDB(c.x, -30, 2, 10); math.Abs(h-c.hard) > 1e-9 || math.Abs(s-c.soft) > 1e-9 {
			t.Errorf("upward: %g dB becomes %g and %g, want %g and %g", c.x, h, s, c.hard, c.soft)
		}
	}
}

// The curves of the audio path are those of the pure functions, in doublings.
func TestKneesFollowTheCurves(t *testing.T) {
	for _, c := range []struct{ thresholdDB, ratio, kneeDB float64 }{{-20, 4, 0}, {-24, 2, 12}, {-6, 20, 1}, {-40, 1, 6}, {-30, 8, 24}} {
		above := kneeAbove(c.thresholdDB, c.kneeDB, 1-1/c.ratio)
		expands := kneeBelow(c.thresholdDB, c.kneeDB, c.ratio-1)
		raises := kneeBelow(c.thresholdDB, c.kneeDB, 1-1/c.ratio)
		loop := newOutKnee(c.thresholdDB, c.kneeDB, c.ratio)
		for x := -90.0; x < 30; x += 0.37 {
			level := x / doublingDB
			out := CurveDB(x, c.thresholdDB, c.ratio, c.kneeDB)
			looped, _ := loop.at(out / doublingDB)
			for name, d := range map[string]float64{
				"above":    above.at(level-above.start)*doublingDB - (x - out),
				"expander": expands.at(expands.start-level)*doublingDB - (x - ExpandDB(x, c.thresholdDB, c.ratio, c.kneeDB)),
				"upward":   raises.at(raises.start-level)*doublingDB - (UpwardDB(x, c.thresholdDB, c.ratio, c.kneeDB) - x),
				"loop":     looped*doublingDB - (x - out),
			} {
				if !(math.Abs(d) <= 1e-9) {
					t.Errorf("%s, %v: off by %g dB at %g dB", name, c, d, x)
				}
			}
		}
	}
}
