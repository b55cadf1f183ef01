package eq_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// What the bilinear transform does to a shelf was computed independently: it
// is 0.40 dB off at worst for 8 kHz, +6 dB, and 0.62 dB for 10 kHz, −6 dB. The
// matched one has to be several times nearer.
func TestShelfIsNotSqueezed(t *testing.T) {
	for _, c := range []struct{ freqHz, gainDB, cookbookDB, mostDB float64 }{{8000, 6, 0.40, 0.045}, {10000, -6, 0.62, 0.085}} {
		set := dsp.Setting{"freqHz": c.freqHz, "gainDB": c.gainDB, "slope": 1}
		near(t, "cookbook", strays(cookbookShelf, highShelf, 48000, set, -99), c.cookbookDB, 0.012) // as far as 61 frequencies tell
		if off := strays(eq.HighShelf, highShelf, 48000, set, -99); off > c.mostDB {
			t.Errorf("%g Hz, %g dB: %.4f dB off, want at most %g", c.freqHz, c.gainDB, off, c.mostDB)
		}
	}
}

var cookbookShelf = dsp.Spec{Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
	return eq.CookbookHighShelf(rateHz, s["freqHz"], s["gainDB"], s["slope"]).Response(rateHz, freqHz)
}}

// At every setting the matched shelf is stable both ways, exact where it is
// said to be, cancelled by its opposite, and no worse than the cookbook's by an
// amount that counts.
func TestShelves(t *testing.T) {
	for _, rateHz := range []float64{8000, 44100, 48000, 192000} {
		for _, gainDB := range gains24 {
			for _, slope := range slopes {
				for i := range 13 {
					freqHz := 10 * math.Pow(min(20000, 0.4899*rateHz)/10, float64(i)/12)
					high, low := eq.MatchedHighShelf(rateHz, freqHz, gainDB, slope), eq.MatchedLowShelf(rateHz, freqHz, gainDB, slope)
					name := fmt.Sprintf("%g Hz, %g dB, slope %g at %g Hz: ", freqHz, gainDB, slope, rateHz)
					for _, c := range []eq.Coefficients{high, low} {
						if !c.Stable() || !c.Invert().Stable() {
							t.Errorf("%snot stable both ways", name)
						}
					}
					near(t, name+"high shelf at 0 Hz", db(high, rateHz, 0), 0, 1e-6)
					near(t, name+"low shelf at 0 Hz", db(low, rateHz, 0), gainDB, 1e-6)
					if freqHz <= 0.35*rateHz {
						near(t, name+"high shelf at its frequency", db(high, rateHz, freqHz), gainDB/2, 1e-6)
						near(t, name+"low shelf at its frequency", db(low, rateHz, freqHz), gainDB/2, 1e-6)
					}
					hz := 0.3 * rateHz
					both := high.Response(rateHz, hz) * eq.MatchedHighShelf(rateHz, freqHz, -gainDB, slope).Response(rateHz, hz)
					near(t, name+"boost times cut", cmplx.Abs(both-1), 0, 1e-9)
					if rateHz < 44100 {
						continue
					}
					set := dsp.Setting{"freqHz": freqHz, "gainDB": gainDB, "slope": slope}
					off, rbj := strays(eq.HighShelf, highShelf, rateHz, set, -99), strays(cookbookShelf, highShelf, rateHz, set, -99)
					if off > rbj+0.001 {
						t.Errorf("%smatched %.5f dB off, cookbook %.5f", name, off, rbj)
					}
				}
			}
		}
	}
}
