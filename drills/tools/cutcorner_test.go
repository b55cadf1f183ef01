package tools_test

import (
	"testing"

	"strop/dsp"
)

// A cut of 12 dB an octave is 3.01 dB down at its corner and 12.3 an octave
// beyond: the second-order Butterworth response, 10·log10(1 + 2⁴).
func TestCorners(t *testing.T) {
	for id, c := range map[string]struct{ beyond, back float64 }{"eq-lowcut": {0.5, 8}, "eq-highcut": {2, 0.125}} {
		drill := tool(t, id)
		s := dsp.Setting{"freqHz": 800}
		near(t, id+" at the corner", toneGainDB(t, drill, s, 800), -3.01, 0.05)
		near(t, id+" an octave beyond", toneGainDB(t, drill, s, 800*c.beyond), -12.3, 0.1)
		near(t, id+" far back", toneGainDB(t, drill, s, 800*c.back), 0, 0.05)
	}
}

// An octave too high is told as one.
func TestCornerTold(t *testing.T) {
	drill := tool(t, "eq-lowcut")
	truth, guess := dsp.Setting{"freqHz": 160}, dsp.Setting{"freqHz": 320}
	near(t, "error", drill.Grade(drill.Rungs[1], truth, guess).Errors["errorOct"], 1, 1e-9)
	if got, want := drill.Tell(drill.Rungs[1], truth, guess), "It was 160 Hz; you said 320 Hz, an octave high."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
