package eq_test

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// prototype is an analogue filter: its level in dB at r times its frequency.
type prototype func(s dsp.Setting, r float64) float64

func level(h complex128) float64 { return dsp.ToDB(cmplx.Abs(h)) }

// highShelf is a·(a·s² + s·√a/Q + 1)/(s² + s·√a/Q + a), and lowShelf its mirror
// image, both of the W3C Audio EQ Cookbook.
func highShelf(set dsp.Setting, r float64) float64 {
	a, s := complex(dsp.FromDB(set["gainDB"]/2), 0), complex(0, r)
	damped := s * cmplx.Sqrt(a*((a+1/a)*complex(1/set["slope"]-1, 0)+2))
	return level(a * (a*s*s + damped + 1) / (s*s + damped + a))
}

func lowShelf(set dsp.Setting, r float64) float64 { return highShelf(set, 1/r) }

// highCut is S. Butterworth's loss, 10·log10(1 + r^2n), or twice that of half
// the order, and lowCut its mirror image.
func highCut(set dsp.Setting, r float64) float64 {
	n := set["slopeDBOct"] / 6
	if set["cornerDB"] == -6 {
		return -2 * dsp.PowerToDB(1+math.Pow(r, n))
	}
	return -dsp.PowerToDB(1 + math.Pow(r, 2*n))
}

func lowCut(set dsp.Setting, r float64) float64 { return highCut(set, 1/r) }

// The notch and the band-pass of the cookbook, (s² + 1)/(s² + s/Q + 1) and
// (s/Q)/(s² + s/Q + 1), in part.
func notch(set dsp.Setting, r float64) float64 {
	s, g, q := complex(0, r), complex(dsp.FromDB(-set["depthDB"]), 0), complex(set["q"], 0)
	return level((s*s + s*g/q + 1) / (s*s + s/q + 1))
}

func bandPass(set dsp.Setting, r float64) float64 {
	s, g, q := complex(0, r), complex(dsp.FromDB(set["outsideDB"]), 0), complex(set["q"], 0)
	return level((g*s*s + s/q + g) / (s*s + s/q + 1))
}

func tilt(set dsp.Setting, r float64) float64 { return set["slopeDBOct"] * math.Log2(r) }

// grid is every combination of some values.
func grid(values map[string][]float64) []dsp.Setting {
	sets := []dsp.Setting{{}}
	for id, vs := range values {
		var more []dsp.Setting
		for _, s := range sets {
			for _, v := range vs {
				more = append(more, s.With(id, v))
			}
		}
		sets = more
	}
	return sets
}

var (
	gains15   = []float64{-15, -9, -6, -3, -1, -0.01, 0.01, 1, 3, 6, 9, 12, 15}
	gains24   = append([]float64{-24, -18, 18, 24}, gains15...)
	slopes    = []float64{0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 1}
	allSlopes = []float64{6, 12, 18, 24, 30, 36, 42, 48}
)

// How far each processor strays from its analogue curve between 20 Hz and
// 20 kHz, its frequency from 20 Hz to topHz. Levels under floorDB are not
// looked at: there a difference in dB is large and cannot be heard.
func TestDeviation(t *testing.T) {
	butterworth := map[string][]float64{"slopeDBOct": allSlopes, "cornerDB": {-3}}
	linkwitz := map[string][]float64{"slopeDBOct": {12, 24, 36, 48}, "cornerDB": {-6}}
	notches := map[string][]float64{"depthDB": {3, 12, 40, 96}, "q": {0.5, 1, 2, 4, 8, 30}}
	bands := map[string][]float64{"outsideDB": {-3, -12, -40, -96}, "q": {0.3, 0.7, 1, 2, 4, 8, 30}}
	tilts := map[string][]float64{"slopeDBOct": {-3, -2, -1, 0.1, 1, 2, 3}}
	for _, c := range []struct {
		spec           dsp.Spec
		analogue       prototype
		values         map[string][]float64
		floorDB, topHz float64
		mostDB         map[float64]float64 // by rate
	}{
		{eq.LowShelf, lowShelf, map[string][]float64{"gainDB": gains15, "slope": slopes}, -99, 20000, map[float64]float64{44100: 0.65, 48000: 0.6, 96000: 0.25, 192000: 0.07}},
		{eq.LowShelf, lowShelf, map[string][]float64{"gainDB": gains24, "slope": slopes}, -99, 20000, map[float64]float64{44100: 0.75, 48000: 0.75}},
		{eq.HighShelf, highShelf, map[string][]float64{"gainDB": gains15, "slope": slopes}, -99, 20000, map[float64]float64{44100: 0.65, 48000: 0.6, 96000: 0.25, 192000: 0.07}},
		{eq.HighShelf, highShelf, map[string][]float64{"gainDB": gains24, "slope": slopes}, -99, 20000, map[float64]float64{44100: 0.75, 48000: 0.75}},
		{eq.HighShelf, highShelf, map[string][]float64{"gainDB": {-6, 6}, "slope": {1}}, -99, 10000, map[float64]float64{48000: 0.1}},
		{eq.LowCut, lowCut, butterworth, -60, 10000, map[float64]float64{44100: 0.35, 48000: 0.25, 96000: 0.02, 192000: 0.002}},
		{eq.LowCut, lowCut, butterworth, -24, 20000, map[float64]float64{44100: 1.4, 48000: 0.85, 96000: 0.06, 192000: 0.005}},
		{eq.LowCut, lowCut, linkwitz, -24, 20000, map[float64]float64{44100: 2.3, 48000: 1.6, 96000: 0.1, 192000: 0.01}},
		{eq.HighCut, highCut, butterworth, -6, 20000, map[float64]float64{44100: 1.5, 48000: 0.95, 96000: 0.04, 192000: 0.003}},
		{eq.HighCut, highCut, butterworth, -24, 20000, map[float64]float64{44100: 4, 48000: 2.4, 96000: 0.08, 192000: 0.005}},
		{eq.HighCut, highCut, linkwitz, -24, 20000, map[float64]float64{44100: 4, 48000: 2.4, 96000: 0.12, 192000: 0.01}},
		{eq.Notch, notch, notches, -40, 16000, map[float64]float64{44100: 1.1, 48000: 0.65, 96000: 0.025, 192000: 0.002}},
		{eq.Notch, notch, notches, -40, 20000, map[float64]float64{44100: 1.8, 48000: 1.05}},
		{eq.BandPass, bandPass, bands, -40, 16000, map[float64]float64{44100: 1.5, 48000: 1.05, 96000: 0.06, 192000: 0.004}},
		{eq.BandPass, bandPass, bands, -40, 20000, map[float64]float64{44100: 3.1, 48000: 2}},
		{eq.Tilt, tilt, tilts, -99, 20000, map[float64]float64{44100: 0.75, 48000: 0.75, 96000: 0.75, 192000: 0.75}},
	} {
		for rateHz, mostDB := range c.mostDB {
			worst, where := 0.0, dsp.Setting{}
			for _, set := range grid(c.values) {
				for i := range 31 {
					centreHz := 20 * math.Pow(c.topHz/20, float64(i)/30)
					set := set.With("freqHz", centreHz)
					if off := strays(c.spec, c.analogue, rateHz, set, c.floorDB); !(off <= worst) {
						worst, where = off, set
					}
				}
			}
			t.Logf("%s at %g Hz, to %g Hz, above %g dB: %.4f dB at %s", c.spec.ID, rateHz, c.topHz, c.floorDB, worst, where.Text(c.spec.Params))
			if !(worst <= mostDB) {
				t.Errorf("%s at %g Hz strays by %.4f dB at {%s}, want at most %g dB", c.spec.ID, rateHz, worst, where.Text(c.spec.Params), mostDB)
			}
		}
	}
}

// strays is the greatest distance from the analogue curve; NaN stays NaN.
func strays(spec dsp.Spec, analogue prototype, rateHz float64, set dsp.Setting, floorDB float64) (worst float64) {
	for i := range 61 {
		hz := 20 * math.Pow(1000, float64(i)/60)
		if want := analogue(set, hz/set["freqHz"]); want > floorDB {
			off := math.Abs(level(spec.Response(rateHz, hz, set)) - want)
			if math.IsNaN(off) {
				return off
			}
			worst = max(worst, off)
		}
	}
	return worst
}
