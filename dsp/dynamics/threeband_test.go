package dynamics

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// transform is the response of run at freqHz.
func transform(run func([]dsp.Frame), freqHz float64) complex128 {
	buf := make([]dsp.Frame, 48000)
	buf[0] = dsp.Frame{1, 1}
	run(buf)
	sum := complex(0, 0)
	for i, f := range buf {
		sum += complex(f[0], 0) * cmplx.Rect(1, -2*math.Pi*freqHz*float64(i)/48000)
	}
	return sum
}

// Linkwitz & Riley 1976: low- and high-pass are squares of Butterworth's,
// 6.02 dB down at the crossover, in phase at every frequency, and their sum
// is an all-pass.
func TestLinkwitzRiley(t *testing.T) {
	const corner = 800
	for _, freqHz := range []float64{50, 400, 800, 1600, 9000} {
		f := newSVF(corner, 48000)
		a, b := crossover{f, f, f}, crossover{f, f, f}
		low := transform(func(x []dsp.Frame) { a.split(x, make([]dsp.Frame, len(x))) }, freqHz)
		high := transform(func(x []dsp.Frame) { y := slices.Clone(x); b.split(y, x) }, freqHz)
		w := math.Tan(math.Pi*freqHz/48000) / math.Tan(math.Pi*corner/48000)
		if got, want := cmplx.Abs(low), 1/(1+math.Pow(w, 4)); math.Abs(got-want) > 1e-9 {
			t.Errorf("low at %g Hz: %g, want %g", freqHz, got, want)
		}
		if got, want := cmplx.Abs(high), 1/(1+math.Pow(w, -4)); math.Abs(got-want) > 1e-9 {
			t.Errorf("high at %g Hz: %g, want %g", freqHz, got, want)
		}
		if turn := cmplx.Phase(high / low); math.Abs(turn) > 1e-6 {
			t.Errorf("%g Hz: the bands are %g rad apart", freqHz, turn)
		}
		if d := cmplx.Abs(low + high - allPass(corner, 48000, freqHz)); d > 1e-9 {
			t.Errorf("%g Hz: the sum is %g from the all-pass", freqHz, d)
		}
	}
}

// With ratios of 1 the path is the stated one, wherever the crossovers are and
// whatever the thresholds.
func TestThreeBandPath(t *testing.T) {
	s := dsp.Setting{"lowHz": 90, "highHz": 6000, "lowThresholdDB": -60, "highThresholdDB": -60}
	for _, freqHz := range []float64{30, 90, 500, 2500, 6000, 15000} {
		got, want := transform(build(t, ThreeBand, s).Process, freqHz), ThreeBand.Path(48000, freqHz, s)
		if cmplx.Abs(got-want) > 1e-9 {
			t.Errorf("%g Hz: %v, want %v", freqHz, got, want)
		}
	}
}

// Each band compresses what the crossovers leave in it, as its curve says; the
// other bands pass what is left in them, in phase.
func TestThreeBandCompressesBandByBand(t *testing.T) {
	worst := 0.0
	for _, freqHz := range []float64{50, 200, 720, 2500, 17990} {
		share := linkwitzRileyShares(freqHz)
		for j, id := range []string{"low", "mid", "high"} {
			p := build(t, ThreeBand, dsp.Setting{id + "ThresholdDB": -30, id + "Ratio": 3, "attackMS": 5, "releaseMS": 1000})
			in := dsptest.Sine(48000, freqHz, dsp.FromDB(-6), 0, 192000)
			out := slices.Clone(in)
			p.Process(out)
			x := dsp.ToDB(share[j]) - 6
			sum := 0.0
			for i, s := range share {
				if i == j {
					s *= dsp.FromDB(CurveDB(x, -30, 3, threeBandKneeDB) - x)
				}
				sum += s
			}
			got, want := gainDB(in, out, 144000, 192000), dsp.ToDB(sum)
			worst = max(worst, math.Abs(got-want))
			if math.Abs(got-want) > 0.05 {
				t.Errorf("%g Hz, %s band: %.3f dB, want %.3f", freqHz, id, got, want)
			}
		}
	}
	t.Logf("worst: %.4f dB", worst)
}

// linkwitzRileyShares are the magnitudes of the three bands, 200 and 2500 Hz,
// which are in phase.
func linkwitzRileyShares(freqHz float64) [3]float64 {
	var low [2]float64
	for i, corner := range []float64{200, 2500} {
		w := math.Tan(math.Pi*freqHz/48000) / math.Tan(math.Pi*corner/48000)
		low[i] = 1 / (1 + math.Pow(w, 4))
	}
	return [3]float64{low[0], (1 - low[0]) * low[1], (1 - low[0]) * (1 - low[1])}
}
