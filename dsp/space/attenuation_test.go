package space

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
)

// Jot & Chaigne 1991: g = 10^(−3m/(fs·T)) at every frequency where the decay is
// the same at all; values computed independently.
func TestAttenuationOfJot(t *testing.T) {
	for _, c := range []struct {
		frames int
		decayS float64
		want   float64
	}{{1009, 1, 0.86484345}, {1499, 1, 0.80595817}, {2003, 2, 0.86577741}} {
		a := designAttenuation(48000, c.frames, func(float64) float64 { return c.decayS })
		for _, freqHz := range []float64{0, 100, 1000, 10000, 24000} {
			if got := cmplx.Abs(a.response(48000, freqHz)); math.Abs(got-c.want) > 2e-8 {
				t.Errorf("%d frames, %g s, %g Hz: %.8f, want %.8f", c.frames, c.decayS, freqHz, got, c.want)
			}
		}
	}
}

// At every rate and setting every delay loses something at all frequencies, so
// that no loop can grow; and its decay is that of the setting within 7 %, where
// the straight lines of T meet at 1 kHz, 3 % for moderate settings.
func TestAttenuationIsOne(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 48000, 192000} {
		for _, decayS := range []float64{fdnDecay.Min, 1.5, fdnDecay.Max} {
			for _, ratios := range [][2]float64{{1, 0.4}, {0.5, 0.4}, {2, 0.4}, {0.5, 1}, {2, 1}, {1.2, 0.5}, {0.8, 0.6}} {
				worst, least := 0.0, math.Inf(1)
				for _, line := range []int{0, lines - 1} {
					n := lineFrames(rateHz, line)
					wanted := func(freqHz float64) float64 { return decayAt(freqHz, decayS, ratios[0], ratios[1]) }
					a := designAttenuation(rateHz, n, wanted)
					for freqHz := 1.0; freqHz < rateHz/2; freqHz *= 1.05 {
						lossDB := -dsp.ToDB(cmplx.Abs(a.response(rateHz, freqHz)))
						least = min(least, lossDB)
						if freqHz > 88 && freqHz < min(11000, 0.4*rateHz) {
							worst = max(worst, math.Abs(60*float64(n)/(rateHz*lossDB)/wanted(freqHz)-1))
						}
					}
				}
				tolerance := 0.12
				if ratios[1] >= 0.5 && ratios[0] > 0.5 {
					tolerance = 0.035
				}
				if !(least > 0) || !(worst <= tolerance) {
					t.Errorf("%g Hz, %g s, bass %g, treble %g: decay off by %.3f, least loss %.3f dB", rateHz, decayS, ratios[0], ratios[1], worst, least)
				}
			}
		}
	}
}
