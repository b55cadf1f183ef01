package demo

import (
	"slices"
	"strings"
	"testing"
)

const tiny = `title Tiny
tempo 120 110 130
shift -2 3
beats 4
seed 3
key f# minor
source hats hits choke
sound h drums/hi_hat_closed.flac
source bass notes
sound c2 cents -3 pitched/acoustic_bass_c3.flac
room 4 3 2.5 0.3
source sing voice at 1 1 1.5
line Hats of hats role hat pan 0.5
line Bass of bass role bass
mic Lead_Vox of sing role lead_vocal at 1 0.8 1.5
part a
hats h h? . h!
bass c2 - c2+g2 . | e2
sing a4/l-a - . .
part b
hats h~
form a a/b
`

func mustParse(t testing.TB, text string) *score {
	t.Helper()
	s, err := parseScore(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestParseScore(t *testing.T) {
	s := mustParse(t, tiny)
	if s.title != "Tiny" || s.tempo != [3]float64{120, 110, 130} || s.seed != 3 || len(s.stems) != 3 || s.bars("a") != 2 || s.key.String() != "F♯ minor" {
		t.Errorf("%+v", s)
	}
	if len(s.rooms) != 1 || len(s.rooms[0].sources) != 1 || len(s.rooms[0].mics) != 1 || s.rooms[0].mics[0].aim != (place{1, 1, 1.5}) {
		t.Errorf("%+v", s.rooms)
	}
	if snd := s.source("bass").sounds[0]; snd.note != 35.97 {
		t.Errorf("%+v", snd)
	}
	tk := s.take(3)
	if want := int(rateHz * (leadS + 8 + tailS)); tk.frames() != want {
		t.Errorf("%d frames, want %d: four bars of 2 s", tk.frames(), want)
	}
	// Two bars each time: the hats repeat theirs.
	for name, want := range map[string]int{"hats": 4 * 3, "bass": 2 * 4, "sing": 4} {
		if events := tk.events(s.source(name), tk.chance(0)); len(events) != want {
			t.Errorf("%s: %d events, want %d", name, len(events), want)
		}
	}
	beats := tk.beatFrames()
	if len(beats) != 17 || beats[0] != 12000 || beats[4] != 12000+2*rateHz || len(tk.sections()) != 2 {
		t.Errorf("beats %v, sections %v", beats, tk.sections())
	}
}

// The seed of the score gives what is written; the others stay within its
// ranges, reach both ends of them, and choose among parts.
func TestTakes(t *testing.T) {
	s := mustParse(t, tiny)
	if tk := s.take(3); tk.tempo != 120 || tk.shift != 0 || !slices.Equal(tk.form, []string{"a", "a"}) {
		t.Errorf("as written: %g, %d, %v", tk.tempo, tk.shift, tk.form)
	}
	shifts, parts := map[int]bool{}, map[string]bool{}
	for seed := range uint64(200) {
		tk := s.take(seed)
		shifts[tk.shift], parts[tk.form[1]] = true, true
		if tk.tempo < 110 || tk.tempo > 130 || tk.shift < -2 || tk.shift > 3 {
			t.Errorf("seed %d: %g, %d", seed, tk.tempo, tk.shift)
		}
	}
	if len(shifts) != 6 || len(parts) != 2 {
		t.Errorf("shifts %v, parts %v", shifts, parts)
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
		"unknown source":   {"hats h h?", "hots h h?", `line 17: "hots" is neither`},
		"unknown sound":    {"h h? . h!", "h x . h!", `line 17: hats has no sound "x"`},
		"no note":          {"c2+g2", "c2+x2", `line 18: "x2" is not a note`},
		"far note":         {"c2+g2", "c2+g9", "line 18: bass has no sound within an octave of g9"},
		"empty bar":        {". | e2", ". | | e2", "line 18: bass: a bar is empty"},
		"no syllable":      {"a4/l-a", "a4", `line 19: sing sings no ""`},
		"unknown syllable": {"a4/l-a", "a4/../x", "line 19: sing sings no"},
		"no tempo":         {"tempo 120 110 130\n", "", "a score needs a tempo"},
		"bad tempo":        {"120", "fast", "line 2: fast is not a number"},
		"huge tempo":       {"120 110 130", "1e9", "a score needs a tempo"},
		"NaN":              {"120", "NaN", "line 2: NaN is not a number"},
		"tempo outside":    {"120 110 130", "120 125 130", "a score needs a tempo"},
		"no form":          {"form a a/b\n", "", "a score needs a title, a stem and a form"},
		"unknown part":     {"form a a/b", "form a c", "the form names part c"},
		"no sample":        {"hi_hat_closed", "no_hat", "line 8: there is no sample drums/no_hat.flac"},
		"bad figure":       {"pan 0.5", "pan left", "line 13: pan left is not a number"},
		"unknown figure":   {"pan 0.5", "width 0.5", `line 13: "width" is not understood here`},
		"unknown role":     {"role hat", "role hut", `line 13: Hats: "hut" is not a role`},
		"mic on a line":    {"line Bass", "mic Bass", "line 14: Bass: a microphone needs a source in a room"},
		"unknown set":      {"part b", "use none", `line 20: there is no set "none"`},
		"unheard":          {"line Hats of hats role hat pan 0.5\n", "", "nobody hears source hats"},
		"endless":          {"form a a/b", "form " + strings.Repeat("a ", 200), "a song is no longer than"},
		"unknown key":      {"f# minor", "f# dorian", "line 6: a key is like"},
		"no room":          {"room 4 3 2.5 0.3\n", "", "line 11: sing has a place, but there is no room"},
	} {
		_, err := parseScore(strings.NewReader(strings.Replace(tiny, c.old, c.new, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

func FuzzParseScore(f *testing.F) {
	f.Add(tiny)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := parseScore(strings.NewReader(text))
		if err == nil && (s.title == "" || s.take(1).frames() <= 0) {
			t.Errorf("%q was taken: %+v", text, s)
		}
	})
}
