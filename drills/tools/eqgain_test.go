package tools_test

import (
	"testing"

	"strop/dsp"
)

// A tone in the middle of the band changes by what is told, and the hard end
// asks for no less than what was heard at Q 1, 1.5 dB (Toole & Olive 1988, p.
// 134, as quoted).
func TestEQGain(t *testing.T) {
	drill := tool(t, "eq-gain")
	for _, db := range []float64{-13.5, -3, 1.5, 9} {
		near(t, "tone at 1 kHz", toneGainDB(t, drill, dsp.Setting{"freqHz": 1000, "gainDB": db, "q": 1.4142}, 1000), db, 0.02)
	}
	if drill.Level.Min < 1.5 {
		t.Errorf("the ladder ends at %g dB", drill.Level.Min)
	}
	free := drill.Rungs[1]
	truth := dsp.Setting{"freqHz": 1000, "gainDB": 6, "q": 1.4142}
	for _, c := range []struct {
		guess float64
		right bool
		tell  string
	}{
		{6, true, "It was +6.0 dB, as you said."},
		{5, true, "It was +6.0 dB; you said +5.0 dB, 1.0 dB too little."},
		{-6, false, "It was +6.0 dB; you said −6.0 dB, 12.0 dB too little."},
		{9, false, "It was +6.0 dB; you said +9.0 dB, 3.0 dB too much."},
	} {
		guess := truth.With("gainDB", c.guess)
		score := drill.Grade(free, truth, guess)
		near(t, "error", score.Errors["errorDB"], c.guess-6, 1e-9)
		if tell := drill.Tell(free, truth, guess); score.Right != c.right || tell != c.tell {
			t.Errorf("%g dB: right %v, %q", c.guess, score.Right, tell)
		}
	}
}

// Whether a band was raised or cut is told with where and how far.
func TestEQWay(t *testing.T) {
	drill := tool(t, "eq-way")
	truth := dsp.Setting{"freqHz": dsp.ThirdOctaveHz(12), "gainDB": 6, "q": 1.4142}
	if got, want := drill.Tell(drill.Rungs[0], truth, truth.With("gainDB", -9)), "It was raised; you said cut: +6.0 dB at 315 Hz."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
