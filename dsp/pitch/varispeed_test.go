package pitch_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/pitch"
)

// A tone played faster is a tone, all else 100 dB below it, as long as it should
// be. The check value of the second row: 1 kHz by 10 cents is 1005.7929 Hz.
func TestVarispeedOfSines(t *testing.T) {
	worst, loudest := 0.0, math.Inf(-1)
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for _, freqHz := range []float64{50, 1000, 8000} {
			for _, by := range []float64{-1200, -100, -8, 10, 50, 700, 1200} {
				ratio := pitch.RatioOf(by)
				x := dsptest.Sine(rateHz, freqHz, 0.5, 1, int(1.5*rateHz))
				y, err := pitch.Varispeed(x, ratio)
				if err != nil {
					t.Fatal(err)
				}
				if want := float64(len(x)) / ratio; math.Abs(float64(len(y))-want) > 0.5 {
					t.Errorf("%g cents: %d frames, want %.1f", by, len(y), want)
				}
				got := fitSine(left(y[300:len(y)-300]), freqHz*ratio/rateHz)
				off := cents(got.perFrame * rateHz / (freqHz * ratio))
				worst, loudest = max(worst, math.Abs(off)), max(loudest, got.restDB)
				if math.Abs(off) > 0.001 || got.restDB > -100 || math.Abs(dsp.ToDB(got.ratio/0.5)) > 0.001 {
					t.Errorf("%g Hz by %g cents at %g Hz: %.5f cents off, level %.4f dB, all else %.1f dB", freqHz, by, rateHz, off, dsp.ToDB(got.ratio/0.5), got.restDB)
				}
			}
		}
	}
	t.Logf("at most %.6f cents off, all else %.1f dB", worst, loudest)
}

// What would come above half the rate is gone; what may stay is untouched.
func TestVarispeedDoesNotFold(t *testing.T) {
	const rateHz = 48000
	for _, c := range []struct{ freqHz, ratio, wantDB float64 }{
		{13000, 2, -110}, {18500, pitch.RatioOf(500), -110}, {10500, 2, 0}, {21000, 0.9, 0}, {21000, 1.003, 0},
	} {
		y, err := pitch.Varispeed(dsptest.Sine(rateHz, c.freqHz, 1, 0, rateHz), c.ratio)
		if err != nil {
			t.Fatal(err)
		}
		y = y[300 : len(y)-300]
		level := dsp.PowerToDB(energy(y) / float64(len(y)))
		if c.wantDB < 0 && level > c.wantDB || c.wantDB == 0 && math.Abs(level) > 0.01 {
			t.Errorf("%g Hz %.3f times as fast: %.2f dB", c.freqHz, c.ratio, level)
		}
	}
}

func TestVarispeedRefuses(t *testing.T) {
	for _, ratio := range []float64{0, 0.2, 5, -1, math.NaN(), math.Inf(1)} {
		if y, err := pitch.Varispeed(make([]dsp.Frame, 10), ratio); err == nil {
			t.Errorf("a speed of %g gives %d frames", ratio, len(y))
		}
	}
	if y, err := pitch.Varispeed(nil, 1.5); err != nil || len(y) != 0 {
		t.Errorf("nothing becomes %d frames, %v", len(y), err)
	}
}
