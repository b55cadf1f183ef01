package fault_test

import (
	"fmt"
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/fault"
	"strop/dsp/measure"
)

// A deviation of d at f is a delay of d/(2πf) to and fro, and 1200·log2(1 + d)
// cents: values computed independently from that.
func TestFlutterAmounts(t *testing.T) {
	for _, c := range []struct{ pct, hz, us, frames, cents float64 }{
		{0.1, 4, 39.79, 1.9099, 1.730},
		{0.1, 0.5556, 286.46, 13.7499, 1.730}, // 33⅓ turns a minute
	} {
		m := material{"tone", 48000, dsptest.Sine(48000, 1000, 0.5, 0, 4*48000)}
		buf := m.through(t, fault.Flutter, dsp.Setting{"wowPct": c.pct, "wowHz": c.hz})
		least, most, fastest := math.Inf(1), math.Inf(-1), 0.0
		late := delays(buf[4800:3*48000], m.frames[4800:3*48000], 1000, 48000)
		for i, n := range late {
			least, most = min(least, n), max(most, n)
			if i >= 48 {
				fastest = max(fastest, math.Abs(n-late[i-48])/48)
			}
		}
		what := fmt.Sprintf("%g %% at %g Hz", c.pct, c.hz)
		near(t, what+", frames", (most-least)/2, c.frames, 0.002)
		near(t, what+", µs", (most-least)/2/0.048, c.us, 0.05)
		near(t, what+", cents", 1200*math.Log2(1+fastest), c.cents, 0.01)
	}
}

// delays is by how many frames a tone comes later than another, by their phases.
func delays(a, b []dsp.Frame, freqHz, rateHz float64) (late []float64) {
	period := int(rateHz / freqHz)
	phase := func(x []dsp.Frame, from int) float64 {
		var re, im float64
		for i := range 4 * period {
			sin, cos := math.Sincos(2 * math.Pi * freqHz * float64(from+i) / rateHz)
			re, im = re+x[from+i][0]*cos, im-x[from+i][0]*sin
		}
		return math.Atan2(im, re)
	}
	for from := 0; from+4*period <= len(a); from++ {
		turn := math.Remainder(phase(b, from)-phase(a, from), 2*math.Pi)
		late = append(late, turn/(2*math.Pi)*rateHz/freqHz)
	}
	return late
}

// Wow and flutter are read back from a test tone within 3 %, weighted ones as
// Table 1 of AES6-2008 weighs them. The two-sigma value of a sine is
// sin(π/2·0.9545) = 0.9974 of its peak.
func TestFlutterIsReadBack(t *testing.T) {
	tone := material{"tone", 48000, dsptest.Sine(48000, 3150, 0.5, 0, 12*48000)}
	still, err := measure.FlutterOf(measure.Left.Samples(tone.frames), 48000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "a still tone, weighted", still.WeightedPct, 0, 1e-6)
	near(t, "a still tone, unweighted", still.UnweightedPct, 0, 1e-6)
	worst := 0.0
	for _, c := range []struct{ wowPct, wowHz, flutterPct, flutterHz float64 }{
		{0.1, 4, 0, 10}, {1, 0.5556, 0, 10}, {0.2, 0.75, 0, 10}, {3, 1, 0, 10}, {0.05, 2, 0, 10}, {0.3, 5.5, 0, 10},
		{0, 1, 0.1, 6.3}, {0, 1, 0.1, 10}, {0, 1, 0.5, 20}, {0, 1, 1, 40}, {0, 1, 0.05, 63}, {0, 1, 0.1, 100},
		{0.3, 0.75, 0.1, 30},
	} {
		set := dsp.Setting{"wowPct": c.wowPct, "wowHz": c.wowHz, "flutterPct": c.flutterPct, "flutterHz": c.flutterHz}
		got, err := measure.FlutterOf(measure.Left.Samples(tone.through(t, fault.Flutter, set)), 48000)
		if err != nil {
			t.Fatal(err)
		}
		what := set.Text(fault.Flutter.Params)
		check := func(name string, got, want float64) {
			near(t, what+": "+name, got, want, 0.03*want)
			worst = max(worst, math.Abs(got/want-1))
		}
		if c.wowPct > 0 {
			check("wow", got.WowPct, c.wowPct)
			check("its rate", got.WowHz, c.wowHz)
		}
		if c.flutterPct > 0 {
			check("flutter", got.FlutterPct, c.flutterPct)
			check("its rate", got.FlutterHz, c.flutterHz)
		}
		switch {
		case c.flutterPct == 0:
			check("weighted", got.WeightedPct, c.wowPct*dsp.FromDB(measure.FlutterWeightingDB(c.wowHz)))
		case c.wowPct == 0:
			check("weighted", got.WeightedPct, c.flutterPct*dsp.FromDB(measure.FlutterWeightingDB(c.flutterHz)))
		}
		near(t, what+": tone", got.FreqHz, 3150, 1)
	}
	t.Logf("worst: %.2f %%", 100*worst)
}

// Against the untouched side, a slow waver is read back within 6 % on every
// material, and none where there is none. On a voice the delay must stay under
// its period: in its gaps the track is lost.
func TestWaverIsFound(t *testing.T) {
	for _, m := range materials(t) {
		if got := measure.WaverOf(m.frames, m.through(t, fault.Flutter, dsp.Setting{}), m.rateHz); got.DepthPct > 0.001 {
			t.Errorf("%s, untouched: %+v", m.name, got)
		}
		sets := []dsp.Setting{{"wowPct": 0.1, "wowHz": 4}, {"wowPct": 1, "wowHz": 0.5556}}
		if m.name == "Lead Vox" {
			sets[1] = dsp.Setting{"wowPct": 0.3, "wowHz": 2}
		}
		for _, set := range sets {
			got := measure.WaverOf(m.frames, m.through(t, fault.Flutter, set), m.rateHz)
			near(t, fmt.Sprintf("%s, %g Hz: rate", m.name, set["wowHz"]), got.RateHz, set["wowHz"], 0.01*set["wowHz"])
			near(t, fmt.Sprintf("%s, %g Hz: depth", m.name, set["wowHz"]), got.DepthPct, set["wowPct"], 0.06*set["wowPct"])
		}
	}
}
