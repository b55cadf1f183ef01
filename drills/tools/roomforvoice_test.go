package tools_test

import (
	"slices"
	"testing"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
)

// Of the four cuts, made for real on the stem that was raised, the one that is
// right leaves the voice covered least.
func TestRoomForVoice(t *testing.T) {
	drill := tool(t, "eq-room")
	session := sitting(t, drill, drill.Rungs[0], 0.7, 8, 4)
	for range 8 {
		r, err := session.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		voice := r.Clip.On(int(r.Trial.Truth["voice"]))
		best, least := "", 0.0
		for i, c := range r.Rung.Choices {
			guess := r.Trial.Asked.With("freqHz", c.Guess["freqHz"])
			masked := measure.MaskedDB(voice, measure.FactsOf(cutStem(t, drill, r, guess), r.Clip.Loop.RateHz))
			if i == 0 || masked < least {
				best, least = c.Label, masked
			}
			if guess["freqHz"] != r.Trial.Truth["freqHz"] {
				continue
			}
			if nothing := measure.MaskedDB(voice, measure.FactsOf(cutStem(t, drill, r, dsp.Setting{}), r.Clip.Loop.RateHz)); nothing <= masked {
				t.Errorf("%s: covered by %.2f dB without a cut, by %.2f with it", r.Question, nothing, masked)
			}
		}
		if guess, _ := drill.Read(r.Rung, r.Trial.Asked, best); !drill.Grade(r.Rung, r.Trial.Truth, guess).Right {
			t.Errorf("%s: %s by what was rendered, %v by the drill", r.Question, best, r.Trial.Truth)
		}
		if _, err := session.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
			t.Fatal(err)
		}
	}
}

// cutStem is the stem that is in the way, with a cut on it.
func cutStem(t *testing.T, drill drills.Tool, r *drills.Round, guess dsp.Setting) []dsp.Frame {
	t.Helper()
	inserts, err := drill.Mend(r.Clip, r.Trial.Stem, r.Trial.Truth, guess)
	if err != nil {
		t.Fatal(err)
	}
	frames, err := r.Clip.Target(r.Trial.Stem)
	if err != nil {
		t.Fatal(err)
	}
	out := slices.Clone(frames)
	for _, in := range inserts {
		in.Processor.Process(out)
	}
	return out
}
