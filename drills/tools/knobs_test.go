package tools_test

import (
	"maps"
	"math"
	"testing"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
)

// A move is said as a person says it, or in the knobs' own terms.
func TestSaidMoves(t *testing.T) {
	eq, err := tools.Find("make-eq")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]dsp.Setting{
		"cut about 3 dB near 400":        {"freqHz": 400, "gainDB": -3, "q": math.Sqrt2},
		"cut 3dB at 2.5 kHz":             {"freqHz": 2500, "gainDB": -3, "q": math.Sqrt2},
		"boost 4 dB around 2k5 with Q 3": {"freqHz": 2500, "gainDB": 4, "q": 3},
		"−6 dB at 1 kHz, q 0.7":          {"freqHz": 1000, "gainDB": -6, "q": 0.7},
		"400 -3":                         {"freqHz": 400, "gainDB": -3, "q": math.Sqrt2},
		"1k −6 1.4":                      {"freqHz": 1000, "gainDB": -6, "q": 1.4},
		"gainDB=-4 freqHz=900":           {"freqHz": 900, "gainDB": -4, "q": math.Sqrt2},
	} {
		got, err := eq.Read(eq.Rungs[0], dsp.Setting{"freqHz": 50, "gainDB": 9, "q": 2}, text)
		if err != nil || !maps.Equal(got, want) {
			t.Errorf("%q: %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "cut", "much", "400 -3 1 2", "gain 99 dB", "treble=3"} {
		if got, err := eq.Read(eq.Rungs[0], dsp.Setting{}, text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}

// The tool of a drill of undoing stands somewhere else in every trial, in its
// range, and at the same place for the same seed.
func TestStarts(t *testing.T) {
	for _, tool := range tools.All() {
		if !tool.Turned() {
			continue
		}
		seen := map[string]bool{}
		one, two := sitting(t, tool, tool.Rungs[0], 0.7, 4, 9), sitting(t, tool, tool.Rungs[0], 0.7, 4, 9)
		for range 4 {
			r, err := one.Next(t.Context())
			if err != nil {
				t.Fatalf("%s: %v", tool.ID, err)
			}
			again, err := two.Next(t.Context())
			if err != nil || !maps.Equal(again.Start, r.Start) {
				t.Errorf("%s: starts at %v, and then at %v (%v)", tool.ID, r.Start, again.Start, err)
			}
			if err := r.Start.Check(tool.Params); err != nil || len(r.Start) == 0 {
				t.Errorf("%s: starts at %v: %v", tool.ID, r.Start, err)
			}
			seen[r.Start.Text(tool.Params)] = true
			for _, s := range []*drills.Session{one, two} {
				if _, err := s.Answer(t.Context(), drills.Given{Guess: r.Start}); err != nil {
					t.Errorf("%s: %v", tool.ID, err)
				}
			}
		}
		if len(seen) < 2 {
			t.Errorf("%s: always starts at %v", tool.ID, seen)
		}
	}
}
