package dynamics

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// levels is a tone of 1 kHz that has each of the levels in turn, for so long.
func levels(ms float64, levelsDB ...float64) []dsp.Frame {
	n := int(ms * 48)
	buf := dsptest.Sine(48000, 1000, 1, 0.1, n*len(levelsDB))
	for i := range buf {
		buf[i][0] *= dsp.FromDB(levelsDB[i/n])
		buf[i][1] = buf[i][0]
	}
	return buf
}

// The gate opens above −30 and closes below −36: between the two it stays as
// it was, whichever side it came from.
func TestGateHysteresis(t *testing.T) {
	p := build(t, Gate, dsp.Setting{"thresholdDB": -30, "hysteresisDB": 6, "rangeDB": 40, "attackMS": 0.1, "holdMS": 5, "releaseMS": 10})
	trace := reductionsDB(p, levels(200, -33, -29, -33, -37, -33, -31, -29))
	for i, want := range []float64{40, 0, 0, 40, 40, 40, 0} {
		if got := trace[(i+1)*9600-5]; math.Abs(got-want) > 0.01 {
			t.Errorf("part %d: reduced by %.3f dB, want %g", i, got, want)
		}
	}
}

// From the last peak above the closing level the gate stays open for the hold,
// to the frame.
func TestGateHold(t *testing.T) {
	for _, holdMS := range []float64{1, 10, 250} {
		p := build(t, Gate, dsp.Setting{"thresholdDB": -30, "rangeDB": 40, "attackMS": 0.02, "holdMS": holdMS, "releaseMS": 20})
		trace := reductionsDB(p, stepDB(-10, -70, 1000, 30000))
		first := 1000
		for math.Abs(trace[first]) < 1e-6 {
			first++
		}
		if want := 1000 + int(holdMS*48) - 1; first != want {
			t.Errorf("a hold of %g ms: closing begins at frame %d, want %d", holdMS, first, want)
		}
	}
}

// Half a cycle of 20 Hz is 25 ms: a hold beyond that keeps the gate quiet.
func TestGateDoesNotChatter(t *testing.T) {
	p := build(t, Gate, dsp.Setting{"thresholdDB": -20, "rangeDB": 80, "holdMS": 30})
	trace := reductionsDB(p, dsptest.Sine(48000, 20, 0.2, 0, 96000))
	for i, r := range trace[48000:] {
		if math.Abs(r) > 1e-9 {
			t.Fatalf("frame %d of a steady bass is reduced by %g dB", i, r)
		}
	}
}

// With a look-ahead the gate is open before the sound that opens it.
func TestGateLookahead(t *testing.T) {
	in := append(make([]dsp.Frame, 4800), dsptest.Sine(48000, 1000, 0.5, math.Pi/2, 4800)...)
	p := build(t, Gate, dsp.Setting{"rangeDB": 60, "attackMS": 0.5, "lookaheadMS": 5})
	p.Process(in)
	if got := dsp.ToDB(in[4800+dsp.DelayFrames(p)][0] / 0.5); math.Abs(got) > 0.01 {
		t.Errorf("the first frame of the sound comes %.3f dB too low", -got)
	}
}
