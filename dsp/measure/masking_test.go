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

// A band a third of an octave above 1 kHz passes the ear's filter there at
// −24.46 dB: ERB 132.64 Hz, p·g = 4·258.93/132.64 = 7.808, (1 + 7.808)·e^−7.808
// = 0.003579. One that is stronger by as much covers by 3.01 dB. From below,
// 794 Hz: p·g = 6.202, 0.01458, −18.36 dB. Computed from Glasberg & Moore 1990.
func TestMaskedThroughTheEar(t *testing.T) {
	const kHz = 17
	for name, c := range map[string]struct {
		band int
		db   float64
	}{"above": {kHz + 1, 24.46}, "below": {kHz - 1, 18.36}} {
		sound, other := only(kHz, 0), only(c.band, c.db)
		if got := MaskedDB(sound, other); math.Abs(got-3.0103) > 0.02 {
			t.Errorf("%s: covered by %.3f dB, want 3.01", name, got)
		}
		if got := MaskedWithinDB(sound, other, 2000, 4000); got != 0 {
			t.Errorf("%s: where the sound has nothing it is covered by %g dB", name, got)
		}
	}
}

// only is a sound of one band.
func only(band int, db float64) (f Facts) {
	for i := range f.BandsDB {
		f.BandsDB[i] = math.Inf(-1)
	}
	f.BandsDB[band] = db
	return f
}
