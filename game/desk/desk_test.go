package desk_test

import (
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/game/desk"
)

// orchestra is a recording nobody here made: the example of the MP3 library
// that strop is built with, read from the module cache.
func orchestra(t testing.TB) string {
	t.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/hajimehoshi/go-mp3").Output()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(strings.TrimSpace(string(out)), "example", "classic.mp3")
}

func openDesk(t testing.TB) *desk.Desk {
	t.Helper()
	at := time.Date(2026, 2, 1, 9, 0, 0, 0, time.UTC)
	d, err := desk.Open(t.TempDir(), func() time.Time { at = at.Add(time.Second); return at })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	return d
}

// On real music, and at every way to answer, both sides are within 0.1 LU
// (ITU-R BS.1770) and under the ceiling, and what changed is where the truth
// says: the band of the truth moved by more than the one furthest from it.
func TestRealMusicIsMatched(t *testing.T) {
	d := openDesk(t)
	song, err := d.OpenSong(t.Context(), orchestra(t))
	if err != nil {
		t.Fatal(err)
	}
	defer song.Close()
	for _, rung := range []string{"five", "thirds", "free"} {
		s, err := d.Sit(t.Context(), song, desk.Wish{Tool: "eq-band", Rung: rung, Trials: 6, Seed: 5})
		if err != nil {
			t.Fatal(err)
		}
		for range 6 {
			checkRound(t, s)
		}
	}
}

func checkRound(t *testing.T, s *desk.Sitting) {
	t.Helper()
	r, err := s.Next(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	rateHz := r.Trial.Loop.RateHz
	before, after := measure.FactsOf(r.Untouched, rateHz), measure.FactsOf(r.Changed, rateHz)
	if diff := after.LoudnessLUFS - before.LoudnessLUFS; math.Abs(diff) > drills.MatchLU {
		t.Errorf("%s: the sides are %.3f LU apart", r.Clip.Name, diff)
	}
	if peak := max(before.TruePeakDBTP, after.TruePeakDBTP); peak > drills.CeilingDBTP+0.01 {
		t.Errorf("%s: true peak %.2f dBTP", r.Clip.Name, peak)
	}
	if len(r.Trial.Truth) > 0 {
		band := dsp.NearestThirdOctave(r.Trial.Truth["freqHz"])
		far := 29
		if band > 16 {
			far = 4
		}
		match := r.Trial.ChangedDB - r.Trial.UntouchedDB
		moved := func(i int) float64 { return math.Abs(after.BandsDB[i] - before.BandsDB[i] - match) }
		if moved(band) < math.Abs(r.Trial.Truth["gainDB"])/2 || moved(far) > moved(band) {
			t.Errorf("%s: %v moved its band by %.2f dB, the furthest by %.2f", r.Clip.Name, r.Trial.Truth, moved(band), moved(far))
		}
	}
	if _, err := s.Answer(t.Context(), drills.Given{Guess: r.Trial.Truth, Took: time.Second}); err != nil {
		t.Fatal(err)
	}
}

// What a person waits for: from a file to both sides of the first trial.
func BenchmarkFileToFirstTrial(b *testing.B) {
	d, path := openDesk(b), orchestra(b)
	for b.Loop() {
		song, err := d.OpenSong(b.Context(), path)
		if err != nil {
			b.Fatal(err)
		}
		s, err := d.Sit(b.Context(), song, desk.Wish{Tool: "eq-band", Trials: 1, Seed: 5})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.Next(b.Context()); err != nil {
			b.Fatal(err)
		}
		song.Close()
	}
}
