package dynamics

import (
	"math"
	"testing"

	"strop/dsp"
)

// On steady sines, expander and upward compressor do what their curves say:
// the curve of JAES 60(6) (2012), eq. 4, turned over.
func TestBelowFollowsItsCurveOnASine(t *testing.T) {
	worst := 0.0
	for levelDB := -75.0; levelDB <= -3; levelDB += 4 {
		for _, freqHz := range []float64{60, 997, 5000} {
			expander := dsp.Setting{"thresholdDB": -40, "ratio": 2, "kneeDB": 10, "rangeDB": 80}
			off := sineDB(build(t, Expander, expander), freqHz, levelDB) - (levelDB - ExpandDB(levelDB, -40, 2, 10))
			upward := dsp.Setting{"thresholdDB": -30, "ratio": 2, "kneeDB": 10, "maxGainDB": 15}
			gainDB := min(UpwardDB(levelDB, -30, 2, 10)-levelDB, 15)
			up := -sineDB(build(t, Upward, upward), freqHz, levelDB) - gainDB
			worst = max(worst, math.Abs(off), math.Abs(up))
			if math.Abs(off) > 0.03 || math.Abs(up) > 0.03 {
				t.Errorf("%g dB at %g Hz: expander off by %.4f dB, upward by %.4f", levelDB, freqHz, off, up)
			}
		}
	}
	t.Logf("worst: %.4f dB", worst)
}

// However soft the sound, the gain stays under its cap.
func TestUpwardCap(t *testing.T) {
	p := build(t, Upward, dsp.Setting{"thresholdDB": 0, "ratio": 10, "maxGainDB": 9})
	trace := reductionsDB(p, stepDB(-130, -200, 48000, 96000))
	for i, r := range trace {
		if -r > 9+1e-6 {
			t.Fatalf("frame %d: raised by %.6f dB", i, -r)
		}
	}
	if got := -trace[95999]; math.Abs(got-9) > 1e-4 {
		t.Errorf("silence is raised by %.4f dB, want 9", got)
	}
}

func TestExpanderRange(t *testing.T) {
	p := build(t, Expander, dsp.Setting{"thresholdDB": -20, "ratio": 10, "rangeDB": 25})
	if got := reductionsDB(p, stepDB(-90, -90, 0, 96000))[95999]; math.Abs(got-25) > 1e-4 {
		t.Errorf("reduced by %.4f dB, want 25", got)
	}
}
