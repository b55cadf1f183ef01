package ui_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

// TestFrequencyScale: three decades, so that 200 Hz and 2 kHz lie at the
// thirds, and the geometric middle, 632.46 Hz, at the half.
func TestFrequencyScale(t *testing.T) {
	s := uitest.Frequency()
	for place, hz := range map[float64]float64{0: 20, 1.0 / 3: 200, 0.5: 20 * math.Sqrt(1000), 2.0 / 3: 2000, 1: 20000} {
		if got := s.Place(hz); math.Abs(got-place) > 1e-12 {
			t.Errorf("%g Hz lies at %g, want %g", hz, got, place)
		}
		if got := s.At(place); math.Abs(got/hz-1) > 1e-12 {
			t.Errorf("at %g is %g Hz, want %g", place, got, hz)
		}
	}
	if s.At(0) != 20 || s.At(1) != 20000 || s.At(-3) != 20 || s.At(3) != 20000 {
		t.Error("the ends are not exact")
	}
	if got := s.Move(1000, 24); math.Abs(got-2000) > 1e-9 {
		t.Errorf("24 quarter tones above 1 kHz is %g, want an octave", got)
	}
}

func TestLogTicks(t *testing.T) {
	ticks := ui.LogTicks(20, 20000, uitest.Hz)
	if n := len(ticks); n != 8+9+9+2 { // 20 to 90, 100 to 900, 1k to 9k, 10k and 20k
		t.Errorf("%d ticks, want 28", n)
	}
	labels := ""
	for _, tick := range ticks {
		labels += tick.Label + " "
	}
	if want := "20 50 100 200 500 1k 2k 5k 10k 20k "; len(labels) < len(want) || compact(labels) != want {
		t.Errorf("labels %q, want %q", compact(labels), want)
	}
}

func compact(s string) string {
	out := []byte{}
	for i := range len(s) {
		if s[i] != ' ' || i > 0 && s[i-1] != ' ' {
			out = append(out, s[i])
		}
	}
	return string(out)
}

func TestScaleInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := ui.Scale{Min: rapid.Float64Range(0.1, 10).Draw(t, "min"), Log: rapid.Bool().Draw(t, "log")}
		s.Max = s.Min * rapid.Float64Range(1.5, 1000).Draw(t, "range")
		place := rapid.Float64Range(0, 1).Draw(t, "place")
		if got := s.Place(s.At(place)); math.Abs(got-place) > 1e-9 {
			t.Fatalf("there and back is %g, want %g", got, place)
		}
		v := s.Move(s.At(place), float64(rapid.IntRange(-300, 300).Draw(t, "steps")))
		if v < s.Min || v > s.Max {
			t.Fatalf("moved out of the scale to %g", v)
		}
	})
}

func TestBetweenStartsAndArrivesGently(t *testing.T) {
	from, to := []ui.Point{{X: 0, Y: 0}}, []ui.Point{{X: 10, Y: 100}}
	for progress, want := range map[float64]float64{-1: 0, 0: 0, 0.5: 50, 1: 100, 2: 100, 0.25: 100 * (0.5 - math.Sqrt2/4)} {
		if got := ui.Between(from, to, progress)[0].Y; math.Abs(got-want) > 1e-9 {
			t.Errorf("at %g is %g, want %g", progress, got, want)
		}
	}
}
