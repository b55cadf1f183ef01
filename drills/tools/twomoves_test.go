package tools_test

import (
	"testing"

	"strop/dsp"
)

// All pairs of n bands are offered, n·(n − 1)/2, and both bands are raised.
func TestTwoMoves(t *testing.T) {
	drill := tool(t, "eq-two")
	for i, want := range []int{3, 6, 10} {
		if got := len(drill.Rungs[i].Choices); got != want {
			t.Errorf("%s: %d answers, want %d", drill.Rungs[i].ID, got, want)
		}
	}
	s := drill.Rungs[0].Choices[1].Guess.With("gainDB", 9)
	near(t, "the first band", toneGainDB(t, drill, s, s["freqHz"]), 9, 0.1)
	near(t, "the second band", toneGainDB(t, drill, s, s["secondHz"]), 9, 0.1)
	near(t, "between them", toneGainDB(t, drill, s, dsp.ThirdOctaveHz(17)), 0, 0.8)
}
