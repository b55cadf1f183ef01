package stereo_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/stereo"
)

// Every part of a sample, up to 0.4535 of the rate: gain and delay within what
// is promised.
func TestDelayInterpolates(t *testing.T) {
	const rateHz = 44100
	worstDB, worstSamples := 0.0, 0.0
	for i := range 40 {
		samples := float64(i) / 40
		p := build(t, stereo.Delay, rateHz, dsp.Setting{"samples": samples})
		impulse := dsptest.Impulse(100, 0)
		p.Process(impulse)
		for hz := 100.0; hz <= 20000; hz += 100 {
			h := complex(0, 0)
			for n, f := range impulse {
				h += complex(f[0], 0) * cmplx.Rect(1, -2*math.Pi*hz/rateHz*(float64(n-dsp.DelayFrames(p))-samples))
			}
			worstDB = max(worstDB, math.Abs(level(h)))
			worstSamples = max(worstSamples, math.Abs(cmplx.Phase(h))*rateHz/(2*math.Pi*hz))
		}
	}
	t.Logf("worst: %.5f dB, %.6f sample", worstDB, worstSamples)
	if !(worstDB <= 0.001) || !(worstSamples <= 0.0001) {
		t.Errorf("off by %g dB, %g sample", worstDB, worstSamples)
	}
}

// c = 343 m/s: 1 m is 2.91545 ms, 139.942 samples at 48 kHz; one sample there
// is 7.146 mm of way, 7.778 mm at 44.1 kHz; a foot 0.88863 ms.
func TestSpeedOfSound(t *testing.T) {
	for _, c := range []struct {
		rateHz  float64
		set     dsp.Setting
		samples float64
	}{
		{48000, dsp.Setting{"distanceM": 1}, 139.942}, {1000, dsp.Setting{"distanceM": 1}, 2.91545}, {1000, dsp.Setting{"distanceM": 0.343}, 1},
		{48000, dsp.Setting{"distanceM": 0.007146}, 1}, {44100, dsp.Setting{"distanceM": 0.007778}, 1}, {1000, dsp.Setting{"distanceM": 0.3048}, 0.88863},
		{48000, dsp.Setting{"delayMS": 10, "samples": 7.5}, 487.5},
	} {
		near(t, fmt.Sprint(c), stereo.DelaySamples(c.rateHz, c.set), c.samples, 5e-4)
	}
	near(t, "temperature", 331.3*math.Sqrt(1+20/273.15), 343.215, 5e-4)
}

// comb is the sum of the left channel and a copy in the right, delayed by ms,
// changed by copyDB, perhaps inverted.
func comb(t *testing.T, ms, copyDB, inverted, freqHz float64) complex128 {
	p := dsp.Chain{build(t, stereo.Delay, 48000, dsp.Setting{"delayMS": ms, "left": 0}),
		build(t, stereo.Polarity, 48000, dsp.Setting{"right": inverted})}
	h := matrix(p, 48000, freqHz)
	return h[0][0] + complex(dsp.FromDB(copyDB), 0)*h[1][1]
}

// Sound and its equal copy: notches at (2k+1)/2τ, peaks of 6.02 dB at k/τ, and
// the other way round, 0 Hz included, where the copy is inverted.
func TestComb(t *testing.T) {
	for ms, notches := range map[float64][]float64{
		0.1: {5000, 15000}, 0.5: {1000, 3000, 5000}, 1: {500, 1500, 2500}, 2: {250, 750}, 5: {100, 300}, 10: {50, 150},
	} {
		for k, hz := range notches {
			if l := level(comb(t, ms, 0, 0, hz)); l > -70 {
				t.Errorf("%g ms at %g Hz: %.1f dB, want a notch", ms, hz, l)
			}
			peak := float64(k) * 1000 / ms
			near(t, fmt.Sprintf("%g ms: peak at %g Hz", ms, peak), level(comb(t, ms, 0, 0, peak)), 6.0206, 0.001)
			near(t, fmt.Sprintf("%g ms, inverted: peak at %g Hz", ms, hz), level(comb(t, ms, 0, 1, hz)), 6.0206, 0.001)
			if l := level(comb(t, ms, 0, 1, peak)); l > -70 {
				t.Errorf("%g ms, inverted, at %g Hz: %.1f dB, want a notch", ms, peak, l)
			}
		}
	}
}

// Peak and notch with a copy that is quieter, and the sum of two equal sines
// that are an angle apart: exact arithmetic, computed independently. −9.542 dB
// is the distance of 3 : 1.
func TestCopies(t *testing.T) {
	for copyDB, want := range map[float64][2]float64{
		-1: {5.535, -19.272}, -3: {4.650, -10.691}, -6: {3.529, -6.041}, -9.542: {2.499, -3.522}, -12: {1.947, -2.513},
		-18: {1.030, -1.169}, -20: {0.828, -0.915}, -26: {0.425, -0.447}, -30: {0.270, -0.279},
	} {
		near(t, fmt.Sprintf("copy at %g dB: peak", copyDB), level(comb(t, 0.5, copyDB, 0, 2000)), want[0], 0.001)
		near(t, fmt.Sprintf("copy at %g dB: notch", copyDB), level(comb(t, 0.5, copyDB, 0, 1000)), want[1], 0.001)
	}
	for deg, want := range map[float64]float64{0: 6.0206, 60: 4.7712, 90: 3.0103, 120: 0, 150: -5.7195, 170: -15.174, 175: -21.186} {
		near(t, fmt.Sprintf("%g° apart", deg), level(comb(t, deg/360, 0, 0, 1000)), want, 0.001)
	}
}
