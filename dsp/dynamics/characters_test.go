package dynamics

import (
	"math"
	"testing"

	"strop/dsp"
)

// All four settle on the curve they state, for a steady level; averaging
// detectors read a constant 3.01 dB above a sine of its peak.
func TestCharactersSettleOnTheirCurves(t *testing.T) {
	for _, c := range []struct {
		spec                  dsp.Spec
		kneeDB, ratio, offset float64
	}{
		{VCA, 0, 4, 10 * math.Log10(2)}, {Optical, opticalKneeDB, 4, 10 * math.Log10(2)},
		{FET, fetKneeDB, 12, 0}, {VariMu, variMuKneeDB, 6, 10 * math.Log10(2)},
	} {
		for levelDB := -50.0; levelDB <= 0; levelDB += 5 {
			trace := reductionsDB(build(t, c.spec, dsp.Setting{"thresholdDB": -25, "ratio": c.ratio}), stepDB(levelDB, levelDB, 0, 10*48000))
			x := levelDB + c.offset
			want := x - CurveDB(x, -25, c.ratio, c.kneeDB)
			if got := trace[len(trace)-1]; math.Abs(got-want) > 1e-3 {
				t.Errorf("%s at %g dB: %.4f dB, want %.4f", c.spec.ID, levelDB, got, want)
			}
		}
	}
}

// What tells one character from another, each by its own doc.
func TestCharactersDiffer(t *testing.T) {
	s := dsp.Setting{"thresholdDB": -40, "ratio": 4}
	for _, c := range []struct {
		spec     dsp.Spec
		grows    float64 // release after 10 s over release after 30 ms, at least
		growsMax float64
	}{{VCA, 0.9, 1.1}, {FET, 0.97, 1.03}, {Optical, 3, 30}, {VariMu, 1.5, 10}} {
		short, long := heldFor(t, c.spec, s, 30), heldFor(t, c.spec, s, 10000)
		t.Logf("%s: release %.0f ms after 30 ms, %.0f ms after 10 s", c.spec.ID, short, long)
		if long < c.grows*short || long > c.growsMax*short {
			t.Errorf("%s: release %.1f ms after 30 ms, %.1f ms after 10 s", c.spec.ID, short, long)
		}
	}
	// Half a millisecond of full scale, 20 dB over: the FET has taken hold of
	// it, 15·(1 − e^(−0.5/0.2)) dB, where the others have hardly begun.
	for _, c := range []struct {
		spec          dsp.Spec
		atLeast, most float64
	}{{FET, 13, 15}, {VCA, 0, 1}, {Optical, 0, 1}, {VariMu, 0, 1}} {
		in := stepDB(-80, -80, 0, 4800)
		copy(in[1000:1024], stepDB(0, 0, 0, 24))
		got := reductionsDB(build(t, c.spec, dsp.Setting{"thresholdDB": -20, "ratio": 4}), in)[1023]
		if !(got >= c.atLeast && got <= c.most) {
			t.Errorf("%s: after half a millisecond of a peak %.2f dB", c.spec.ID, got)
		}
	}
	// The ratio of the variable-mu grows with the level: three steps of 10 dB.
	var out [4]float64
	for i := range out {
		levelDB := -45 + 10*float64(i)
		out[i] = levelDB - sineDB(build(t, VariMu, dsp.Setting{"thresholdDB": -25, "ratio": 8}), 997, levelDB)
	}
	if a, b, c := out[1]-out[0], out[2]-out[1], out[3]-out[2]; !(a > b+2 && b > c+2) {
		t.Errorf("10 dB more in give %.2f, %.2f, %.2f dB more out", a, b, c)
	}
}
