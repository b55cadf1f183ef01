package eq_test

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// Coefficients computed independently, in double precision, from the equations
// of Vicanek, Matched Second Order Digital Filters (2016).
func TestMatched(t *testing.T) {
	sameSection(t, "peak 10k Q1 +12", eq.MatchedPeak(48000, 10000, 12, 1), [5]float64{1.974199561578, -0.998052755952, 0.112090498968, -0.430658304455, 0.518895609049})
	sameSection(t, "peak 16k Q1 +12", eq.MatchedPeak(48000, 16000, 12, 1), [5]float64{2.171406444124, -0.191886843456, -0.107574344598, 0.521896939783, 0.350048316287})
	sameSection(t, "peak 8k Q2 +6", eq.MatchedPeak(48000, 8000, 6, 2), [5]float64{1.180735284135, -0.908761323874, 0.563794117491, -0.854497026655, 0.690265104408})
	sameSection(t, "low-pass 10k", eq.MatchedLowPass(48000, 10000, invSqrt2), [5]float64{0.534186929177, 0.146235664351, 0, -0.476625809088, 0.157048402616})
	sameSection(t, "high-pass 8k", eq.MatchedHighPass(48000, 8000, invSqrt2), [5]float64{0.477397595030, -0.954795190059, 0.477397595030, -0.704019655548, 0.227419038334})
}

// The analogue peak (s² + s·A/Q + 1)/(s² + s/(AQ) + 1), A = 10^(gainDB/40),
// of the W3C Audio EQ Cookbook: the curve that the digital filters are held to.
func analoguePeakDB(freqHz, centreHz, gainDB, q float64) float64 {
	a, s := dsp.FromDB(gainDB/2), complex(0, freqHz/centreHz)
	return dsp.ToDB(cmplx.Abs((s*s + s*complex(a/q, 0) + 1) / (s*s + s*complex(1/(a*q), 0) + 1)))
}

// Levels near half the rate computed independently: the analogue curve, the
// squeezed one of the bilinear transform and the matched one.
func TestPeakIsNotSqueezed(t *testing.T) {
	hz := [9]float64{1000, 4000, 8000, 10000, 12000, 14000, 16000, 18000, 20000}
	for _, c := range []struct {
		centreHz                    float64
		analogue, cookbook, matched [9]float64
	}{
		{10000,
			[9]float64{0.162, 2.553, 9.648, 12.000, 10.283, 7.903, 6.132, 4.875, 3.964},
			[9]float64{0.118, 1.952, 8.687, 12.000, 8.992, 5.461, 3.124, 1.620, 0.682},
			[9]float64{0.164, 2.575, 9.656, 12.000, 10.296, 7.966, 6.290, 5.184, 4.489}},
		{16000,
			[9]float64{0.063, 1.006, 3.964, 6.132, 8.637, 10.986, 12.000, 11.190, 9.648},
			[9]float64{0.023, 0.387, 1.780, 3.124, 5.256, 8.687, 12.000, 7.968, 3.423},
			[9]float64{0.073, 1.127, 4.199, 6.338, 8.767, 11.030, 12.000, 11.258, 9.975}},
	} {
		for i := range hz {
			near(t, "analogue", analoguePeakDB(hz[i], c.centreHz, 12, 1), c.analogue[i], 6e-4)
			near(t, "cookbook", db(eq.CookbookPeak(48000, c.centreHz, 12, 1), 48000, hz[i]), c.cookbook[i], 6e-4)
			near(t, "matched", db(eq.MatchedPeak(48000, c.centreHz, 12, 1), 48000, hz[i]), c.matched[i], 6e-4)
		}
	}
}

// deviationDB is the greatest distance from the analogue curve, 20 Hz to 20 kHz.
func deviationDB(c eq.Coefficients, rateHz, centreHz, gainDB, q float64) (worst float64) {
	for i := range 91 {
		hz := 20 * math.Pow(1000, float64(i)/90)
		d := math.Abs(db(c, rateHz, hz) - analoguePeakDB(hz, centreHz, gainDB, q))
		if math.IsNaN(d) {
			return math.Inf(1)
		}
		worst = max(worst, d)
	}
	return worst
}

// Over the whole range of the processor: how far the design strays, that it is
// stable both ways, and that the cookbook's is never the better one by an
// amount that counts.
func TestPeakDeviation(t *testing.T) {
	for _, c := range []struct{ rateHz, topHz, mostGainDB, leastQ, mostDB float64 }{
		{48000, 17000, 15, 0.5, 0.75}, {48000, 20000, 15, 0.1, 1.1}, {48000, 20000, 24, 0.1, 1.5},
		{44100, 20000, 15, 0.1, 1.75}, {44100, 20000, 24, 0.1, 2.4},
		{96000, 20000, 24, 0.1, 0.06}, {192000, 20000, 24, 0.1, 0.004},
	} {
		worst, where := 0.0, [3]float64{}
		for _, q := range []float64{0.1, 0.2, 0.35, 0.5, 0.7, 1, 1.4, 2, 4, 8, 15, 30} {
			for _, gainDB := range []float64{-24, -18, -15, -9, -3, -0.1, 0, 0.1, 1, 3, 6, 9, 12, 15, 18, 24} {
				for i := range 34 {
					centreHz := 10 * math.Pow(2000, float64(i)/33)
					if q < c.leastQ || centreHz > c.topHz || math.Abs(gainDB) > c.mostGainDB {
						continue
					}
					m := eq.MatchedPeak(c.rateHz, centreHz, gainDB, q)
					off := deviationDB(m, c.rateHz, centreHz, gainDB, q)
					if off > worst {
						worst, where = off, [3]float64{centreHz, gainDB, q}
					}
					if !m.Stable() || !m.Invert().Stable() {
						t.Errorf("%g Hz, %g dB, Q %g at %g Hz is not stable both ways", centreHz, gainDB, q, c.rateHz)
					}
					if rbj := deviationDB(eq.CookbookPeak(c.rateHz, centreHz, gainDB, q), c.rateHz, centreHz, gainDB, q); off > rbj+2e-4 {
						t.Errorf("%g Hz, %g dB, Q %g at %g Hz: matched %.5f dB off, cookbook %.5f", centreHz, gainDB, q, c.rateHz, off, rbj)
					}
				}
			}
		}
		t.Logf("%g Hz, centre to %g Hz, to ±%g dB, Q from %g: %.4f dB at %.0f Hz, %+g dB, Q %g", c.rateHz, c.topHz, c.mostGainDB, c.leastQ, worst, where[0], where[1], where[2])
		if worst > c.mostDB {
			t.Errorf("worst deviation %.4f dB, want at most %g", worst, c.mostDB)
		}
	}
}

// A centre just below the limit, at every rate, stays finite and true.
func TestPeakAtTheLimit(t *testing.T) {
	for _, rateHz := range []float64{8000, 22050, 44100, 48000} {
		for _, q := range []float64{0.1, 1, 30} {
			for _, gainDB := range []float64{-24, -1, 1, 24} {
				c := eq.MatchedPeak(rateHz, 0.4899*rateHz, gainDB, q)
				near(t, "centre", db(c, rateHz, 0.4899*rateHz), gainDB, 1e-6)
				if !c.Stable() || !c.Invert().Stable() {
					t.Errorf("Q %g, %g dB at %g Hz is not stable both ways", q, gainDB, rateHz)
				}
			}
		}
	}
}

// Gain at the corner is Q, and the skirts follow the analogue filters.
func TestMatchedPasses(t *testing.T) {
	for _, q := range []float64{0.3, invSqrt2, 2, 10} {
		for _, freqHz := range []float64{30, 1000, 9000} {
			lp, hp := eq.MatchedLowPass(48000, freqHz, q), eq.MatchedHighPass(48000, freqHz, q)
			near(t, "low-pass corner", db(lp, 48000, freqHz), dsp.ToDB(q), 1e-6)
			near(t, "high-pass corner", db(hp, 48000, freqHz), dsp.ToDB(q), 1e-6)
			for _, r := range []float64{0.25, 0.5, 1.5, 2} {
				s := complex(0, r)
				den := s*s + s*complex(1/q, 0) + 1
				near(t, "low-pass skirt", db(lp, 48000, freqHz*r), dsp.ToDB(cmplx.Abs(1/den)), 0.8)
				near(t, "high-pass skirt", db(hp, 48000, freqHz*r), dsp.ToDB(cmplx.Abs(s*s/den)), 0.8)
			}
		}
	}
}
