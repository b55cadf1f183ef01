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

// impulse is the response of a processor to one frame, its latency taken out.
func impulse(t *testing.T, spec dsp.Spec, rateHz float64, set dsp.Setting, frames int) []float64 {
	m := material{"impulse", rateHz, dsptest.Impulse(frames, 0)}
	return measure.Left.Samples(m.through(t, spec, set))
}

// dc = 0.057·√(QV/T) and 20·log10(dc/r), V 60 m³, T 0.5 s: values computed
// independently, read back from the response.
func TestDirectRatio(t *testing.T) {
	worst := 0.0
	for _, c := range []struct{ farM, omniDB float64 }{{0.1, 15.9}, {0.3, 6.4}, {1, -4.1}, {2, -10.1}, {4, -16.1}} {
		for cardioid, moreDB := range map[float64]float64{0: 0, 1: 4.77} {
			set := dsp.Setting{"distanceM": c.farM, "cardioid": cardioid}
			near(t, fmt.Sprintf("stated at %g m, cardioid %g", c.farM, cardioid), fault.DirectRatioDB(set), c.omniDB+moreDB, 0.06)
			for _, seed := range []float64{1, 2, 3} {
				got := measure.DirectRatioDB(impulse(t, fault.Distance, 48000, set.With("seed", seed), 48000), 48000)
				near(t, fmt.Sprintf("%g m, cardioid %g", c.farM, cardioid), got, c.omniDB+moreDB, 0.5)
				worst = max(worst, math.Abs(got-c.omniDB-moreDB))
			}
		}
	}
	t.Logf("worst: %.2f dB", worst)
	if got := fault.DirectRatioDB(dsp.Setting{}); !math.IsInf(got, 1) {
		t.Errorf("at 0 m: %g dB", got)
	}
}

// The room decays as it was set.
func TestDistanceDecays(t *testing.T) {
	for _, c := range []struct{ volume, decayS, farM float64 }{{60, 0.5, 2}, {30, 0.3, 1.5}, {300, 1, 3}, {2000, 2, 6}} {
		set := dsp.Setting{"volumeM3": c.volume, "decayS": c.decayS, "distanceM": c.farM}
		d, err := measure.DecayOf(impulse(t, fault.Distance, 48000, set, int(2.5*c.decayS*48000)), 48000)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("%+v", c), d.T20S, c.decayS, 0.05*c.decayS)
	}
}

// The bass that a cardioid loses is that of a spherical wave, and the treble
// what was set; the room taken away.
func TestDistanceColours(t *testing.T) {
	for _, farM := range []float64{0.5, 1, 3} {
		h := impulse(t, fault.Distance, 48000, dsp.Setting{"distanceM": farM, "trebleDB": 2, "decayS": 0.2, "volumeM3": 2000}, 4096)
		direct := h[:230] // before anything comes back
		level := func(freqHz float64) float64 {
			var re, im float64
			for i, v := range direct {
				sin, cos := math.Sincos(2 * math.Pi * freqHz * float64(i) / 48000)
				re, im = re+v*cos, im+v*sin
			}
			return 10 * math.Log10(re*re+im*im)
		}
		loss := func(freqHz, m float64) float64 { // |1 + c/(2·jω·m)|² of a cardioid at m
			return 10 * math.Log10(1+math.Pow(343/(4*math.Pi*freqHz*m), 2))
		}
		for _, freqHz := range []float64{400, 1000} {
			want := loss(freqHz, farM) - loss(freqHz, 0.15)
			near(t, fmt.Sprintf("%g m, %g Hz", farM, freqHz), level(freqHz)-level(2000)+loss(2000, 0.15)-loss(2000, farM), want, 0.4)
		}
		near(t, fmt.Sprintf("%g m, treble", farM), level(8000)-level(500)+loss(500, farM)-loss(500, 0.15), -2*min(1, farM), 0.15)
	}
}

// The response is what is convolved with: the sum that defines it, on noise.
func TestDistanceConvolves(t *testing.T) {
	set := dsp.Setting{"distanceM": 1, "decayS": 0.2, "volumeM3": 30}
	h := impulse(t, fault.Distance, 48000, set, 12000)
	m := material{"noise", 48000, dsptest.Noise(1, 0.3, 3000)}
	got := m.through(t, fault.Distance, set)
	for i := 0; i < len(got); i += 97 {
		var want dsp.Frame
		for k := range i + 1 {
			want[0] += h[k] * m.frames[i-k][0]
			want[1] += h[k] * m.frames[i-k][1]
		}
		near(t, fmt.Sprintf("frame %d, left", i), got[i][0], want[0], 1e-12)
		near(t, fmt.Sprintf("frame %d, right", i), got[i][1], want[1], 1e-12)
	}
}

func TestDistanceRefuses(t *testing.T) {
	_, err := fault.Distance.New(48000, dsp.Setting{"distanceM": 8})
	if err == nil || err.Error() != "distance: a distance of 8 m does not fit into a room of 60 m³; stay within 4.5 m" {
		t.Errorf("8 m in 60 m³: %v", err)
	}
}
