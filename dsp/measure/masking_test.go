package measure

import (
	"math"
	"testing"

	"strop/dsp"
)

// Two sounds alike cover each other by 10·log10 2 = 3.01 dB; one 10 dB
// stronger covers by 10·log10 11 = 10.41 dB; nothing covers nothing. Computed
// from the formula.
func TestMaskedDB(t *testing.T) {
	pink := make([]dsp.Frame, 48000*4)
	dsp.NewPink(48000, 1).Fill(pink)
	sound := FactsOf(pink, 48000)
	louder := sound.Tilted(func(float64) float64 { return 10 })
	silent := FactsOf(make([]dsp.Frame, 48000), 48000)
	for name, c := range map[string]struct {
		other Facts
		want  float64
	}{"alike": {sound, 3.0103}, "10 dB stronger": {louder, 10.4139}, "silence": {silent, 0}} {
		if got := MaskedDB(sound, c.other); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%s: %.4f dB, want %.4f", name, got, c.want)
		}
	}
	if got := MaskedDB(silent, sound); got != 0 {
		t.Errorf("silence is covered by %g dB", got)
	}
	// What lies where the sound has nothing does not cover it.
	low := sound.Tilted(func(hz float64) float64 { return -60 * math.Max(0, math.Log2(hz/300)) })
	high := sound.Tilted(func(hz float64) float64 { return -60 * math.Max(0, math.Log2(3000/hz)) })
	if got := MaskedDB(low, high); got > 0.1 {
		t.Errorf("treble covers bass by %.2f dB", got)
	}
}
