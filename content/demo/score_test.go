package demo

import (
	"strings"
	"testing"
)

const tiny = `title Tiny
tempo 120
beats 4
seed 3
stem hats choke level -30 pan 0.5
sound h drums/hi_hat_closed.flac
stem bass pitched
sound c2 pitched/acoustic_bass_c3.flac
part a
hats h h? . h!
bass c2 - c2+g2 . | e2
form a a
`

func TestParseScore(t *testing.T) {
	s, err := parseScore(strings.NewReader(tiny))
	if err != nil {
		t.Fatal(err)
	}
	if s.title != "Tiny" || s.tempo != 120 || s.seed != 3 || len(s.stems) != 2 || s.bars("a") != 2 {
		t.Errorf("%+v", s)
	}
	if want := int(rateHz * (leadS + 8 + tailS)); s.frames() != want {
		t.Errorf("%d frames, want %d: four bars of 2 s", s.frames(), want)
	}
	// Two bars each time: the hats repeat theirs.
	for i, want := range []int{4 * 3, 2 * 4} {
		voices, err := s.voices(s.stems[i], newChance(s, i))
		if err != nil || len(voices) != want {
			t.Errorf("%s: %d voices, %v; want %d", s.stems[i].name, len(voices), err, want)
		}
	}
}

func TestNotes(t *testing.T) {
	for text, want := range map[string]float64{"c4": 60, "a4": 69, "f#3": 54, "bb2": 46, "b2": 47, "cb4": 59, "c0": 12} {
		if got, err := parseNote(text); err != nil || got != want {
			t.Errorf("%s is %g, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "c", "h2", "c#", "c99", "c-1", "4c", "c4x"} {
		if got, err := parseNote(text); err == nil {
			t.Errorf("%q is %g", text, got)
		}
	}
}

func TestParseScoreRefuses(t *testing.T) {
	for name, c := range map[string]struct{ old, new, want string }{
		"unknown stem":   {"hats h h?", "hots h h?", `line 10: "hots" is neither`},
		"unknown sound":  {"h h? . h!", "h x . h!", `line 10: stem hats has no sound "x"`},
		"no note":        {"c2+g2", "c2+x2", `line 11: "x2" is not a note`},
		"far note":       {"c2+g2", "c2+g9", "line 11: stem bass has no sound within an octave of g9"},
		"empty bar":      {". | e2", ". | | e2", "line 11: bass: a bar is empty"},
		"no tempo":       {"tempo 120\n", "", "a score needs a tempo"},
		"bad tempo":      {"120", "fast", "line 2:"},
		"huge tempo":     {"120", "1e9", "a score needs a tempo"},
		"NaN":            {"120", "NaN", "a score needs a tempo"},
		"no form":        {"form a a\n", "", "a score needs a title and a form"},
		"unknown part":   {"form a a", "form a b", "the form names part b"},
		"silent":         {"sound h drums", "sound h", ""},
		"bad figure":     {"pan 0.5", "pan left", "line 5: pan left is not a number"},
		"unknown figure": {"pan 0.5", "width 0.5", "line 5: a stem knows"},
	} {
		_, err := parseScore(strings.NewReader(strings.Replace(tiny, c.old, c.new, 1)))
		if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

func FuzzParseScore(f *testing.F) {
	f.Add(tiny)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := parseScore(strings.NewReader(text))
		if err == nil && (s.title == "" || s.frames() <= 0) {
			t.Errorf("%q was taken: %+v", text, s)
		}
	})
}
