package pitch_test

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/measure"
	"strop/dsp/pitch"
)

var stretches = []float64{0.5, 0.8, 0.97, 1.01, 1.25, 2}

// A stretched sine keeps its pitch, and the length is the one that was asked
// for.
func TestStretchOfSines(t *testing.T) {
	worst, loudest := 0.0, math.Inf(-1)
	for _, rateHz := range []float64{44100} {
		for _, freqHz := range []float64{82.4069, 440, 5000} {
			x := dsptest.Sine(rateHz, freqHz, 0.5, 1, int(2*rateHz)+17)
			for _, ratio := range stretches {
				y := stretched(t, x, rateHz, ratio)
				if want := ratio * float64(len(x)); math.Abs(float64(len(y))-want) > 1 {
					t.Errorf("a stretch by %g makes %d of %d frames", ratio, len(y), len(x))
				}
				got := fitSine(left(y[len(y)/4:3*len(y)/4]), freqHz/rateHz)
				off := cents(got.perFrame * rateHz / freqHz)
				worst, loudest = max(worst, math.Abs(off)), max(loudest, got.restDB)
				if math.Abs(off) > 0.05 || got.restDB > -80 {
					t.Errorf("%g Hz, stretched by %g: %.4f cents off, all else %.1f dB", freqHz, ratio, off, got.restDB)
				}
			}
		}
	}
	t.Logf("at most %.5f cents off, all else %.1f dB", worst, loudest)
}

func stretched(t *testing.T, x []dsp.Frame, rateHz, ratio float64) []dsp.Frame {
	t.Helper()
	y, err := pitch.Stretch(x, rateHz, ratio)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// Strokes stay strokes, and come where they should.
func TestStretchOfStrokes(t *testing.T) {
	const rateHz, every = 48000, 12000
	for _, ratio := range stretches {
		checkStrokes(t, stretched(t, strokes(3*rateHz, every), rateHz, ratio), int(every*ratio), rateHz, 1, ratio)
	}
}

// The spectrum of stretched noise is that of noise.
func TestStretchOfNoise(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Noise(1, 0.1, 5*rateHz)
	for _, ratio := range stretches {
		y := stretched(t, x, rateHz, ratio)
		checkFlat(t, x, y[rateHz/4:len(y)-rateHz/4], rateHz, 20000, 0, ratio)
	}
}

// checkFlat expects third octaves within 1 dB of each other, as they were in x,
// from 100 Hz to topHz, and the mean within 2 dB of shiftDB.
func checkFlat(t *testing.T, x, y []dsp.Frame, rateHz, topHz, shiftDB, what float64) {
	t.Helper()
	before, after := measure.NewReporter(rateHz, 2), measure.NewReporter(rateHz, 2)
	before.Process(x)
	after.Process(y)
	var off []float64
	a := before.Report().ThirdOctaves
	for i, band := range after.Report().ThirdOctaves {
		if band.NominalHz >= 100 && band.NominalHz*1.13 <= topHz {
			off = append(off, float64(band.LevelDB-a[i].LevelDB)-shiftDB)
		}
	}
	mean := 0.0
	for _, d := range off {
		mean += d / float64(len(off))
	}
	t.Logf("%g: third octaves from %.2f to %.2f dB, mean %.2f dB", what, slices.Min(off), slices.Max(off), mean)
	if slices.Max(off)-mean > 1 || mean-slices.Min(off) > 1 || math.Abs(mean) > 2 {
		t.Errorf("%g: third octaves of noise from %.2f to %.2f dB, mean %.2f dB", what, slices.Min(off), slices.Max(off), mean)
	}
}

func TestStretchRefuses(t *testing.T) {
	for _, ratio := range []float64{0, 0.2, 5, math.NaN()} {
		if _, err := pitch.Stretch(make([]dsp.Frame, 10), 48000, ratio); err == nil {
			t.Errorf("a stretch by %g is made", ratio)
		}
	}
	if _, err := pitch.Stretch(nil, 1000, 2); err == nil {
		t.Error("a rate of 1000 Hz is taken")
	}
	if y, err := pitch.Stretch(nil, 48000, 2); err != nil || len(y) != 0 {
		t.Errorf("nothing becomes %d frames, %v", len(y), err)
	}
}
