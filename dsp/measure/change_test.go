package measure_test

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
)

// A peak of 6 dB reads as its analogue response, averaged over the bands of
// pink noise (R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter
// coefficients: H(s) of the peaking EQ).
func TestBandChangesOfAPeak(t *testing.T) {
	const rateHz, gainDB, q = 48000.0, 6.0, 1.41
	before := make([]dsp.Frame, 6*int(rateHz))
	dsp.NewPink(rateHz, 3).Fill(before)
	after := slices.Clone(before)
	eq.NewBiquad(eq.CookbookPeak(rateHz, 1000, gainDB, q)).Process(after)
	for i, got := range measure.BandChangesDB(before, after, rateHz) {
		lo, hi := dsp.ThirdOctaveEdges(i)
		if lo < 100 || hi > 10000 {
			continue
		}
		power := 0.0
		for k := range 64 { // pink: as much in each part of an octave
			power += peaking(lo*math.Pow(hi/lo, (float64(k)+0.5)/64)/1000, gainDB, q)
		}
		if want := dsp.PowerToDB(power / 64); math.Abs(got-want) > 0.1 {
			t.Errorf("%.0f Hz: %.2f dB, want %.2f", dsp.ThirdOctaveHz(i), got, want)
		}
	}
}

// peaking is |H|² of the cookbook's peak at a frequency over that of its middle.
func peaking(w, gainDB, q float64) float64 {
	a := math.Pow(10, gainDB/40)
	re := (1 - w*w) * (1 - w*w)
	return (re + w*w*a*a/(q*q)) / (re + w*w/(a*a*q*q))
}

// Changes fade out where nothing sounds, and follow a gain over time.
func TestLevelChanges(t *testing.T) {
	before := make([]dsp.Frame, 400)
	for i := range before[:300] {
		before[i] = dsp.Frame{0.5, -0.5}
	}
	after := slices.Clone(before)
	dsp.Gain(dsp.FromDB(-6)).Process(after[100:200])
	after[399] = dsp.Frame{1e-6, 1e-6}
	for i, want := range []float64{0, -6, 0, 0} {
		if got := measure.LevelChangesDB(before, after, 4)[i]; math.Abs(got-want) > 1e-4 {
			t.Errorf("stretch %d: %g dB, want %g", i, got, want)
		}
	}
	silent := make([]dsp.Frame, 48000)
	for _, db := range measure.LevelChangesDB(silent, silent, 4) {
		if db != 0 {
			t.Errorf("silence changed by %g dB", db)
		}
	}
	noisy := slices.Clone(silent)
	dsp.NewPink(48000, 1).Fill(noisy)
	for _, db := range measure.BandChangesDB(silent, noisy, 48000) {
		if db != 0 {
			t.Errorf("out of silence: %g dB", db)
		}
	}
}
