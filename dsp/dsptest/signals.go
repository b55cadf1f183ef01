package dsptest

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

// Impulse is n frames of silence with one frame of both channels at 1, at
// index at.
func Impulse(n, at int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	buf[at] = dsp.Frame{1, 1}
	return buf
}

// Sine is n frames of a sine of peak ratio in both channels, starting at
// phaseRad.
func Sine(rateHz, freqHz, ratio, phaseRad float64, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	for i := range buf {
		x := ratio * math.Sin(phaseRad+2*math.Pi*freqHz*float64(i)/rateHz)
		buf[i] = dsp.Frame{x, x}
	}
	return buf
}

// Square is n frames of a square wave of ±ratio in both channels, its edges
// between samples left as they fall: it is not band-limited, and overshoots
// when it is interpolated.
func Square(rateHz, freqHz, ratio float64, n int) []dsp.Frame {
	buf := Sine(rateHz, freqHz, 1, 1e-3, n)
	for i := range buf {
		x := math.Copysign(ratio, buf[i][0])
		buf[i] = dsp.Frame{x, x}
	}
	return buf
}

// Sweep is n frames of a sine of peak ratio in both channels whose frequency
// rises exponentially from fromHz to toHz:
//
//	sin(2π·fromHz·L·(e^(t/L) − 1)),  L = T/ln(toHz/fromHz)
//
// Source: A. Farina, Simultaneous measurement of impulse response and
// distortion with a swept-sine technique, AES 108th Convention (2000).
func Sweep(rateHz, fromHz, toHz, ratio float64, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	l := float64(n) / rateHz / math.Log(toHz/fromHz)
	for i := range buf {
		x := ratio * math.Sin(2*math.Pi*fromHz*l*math.Expm1(float64(i)/rateHz/l))
		buf[i] = dsp.Frame{x, x}
	}
	return buf
}

// Noise is n frames of Gaussian white noise of standard deviation ratio, the
// channels independent.
func Noise(seed uint64, ratio float64, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	dsp.NewWhite(seed).Fill(buf)
	dsp.Gain(ratio).Process(buf)
	return buf
}

// Music is n frames that behave like a mix: a drum of falling pitch, a bass, a
// spread chord of decaying strings and bursts of noise, 120 beats a minute,
// peak 0.5. The seed turns the chord and the noise.
func Music(rateHz float64, seed uint64, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	r := rand.New(rand.NewPCG(seed, 2))
	root := 110 * math.Exp2(float64(r.IntN(12))/12)
	for i := range buf {
		t := float64(i) / rateHz
		beat, sixteenth := math.Mod(t, 0.5), math.Mod(t, 0.125)
		low := 0.9*drum(beat) + 0.5*plucked(t, root/2, 0.5, beat)
		hat := 0.25 * r.NormFloat64() * math.Exp(-sixteenth/0.015)
		a, b, c := plucked(t, root, 0.3, beat), plucked(t, root*1.26, 0.25, sixteenth), plucked(t, root*1.498, 0.4, beat)
		buf[i] = dsp.Frame{low + hat + 0.5*a + 0.1*b + 0.3*c, low + 0.6*hat + 0.1*a + 0.5*b + 0.3*c}
	}
	return scaleTo(buf, 0.5)
}

// drum is a sine that falls from 190 to 50 Hz within a beat of t seconds.
func drum(t float64) float64 {
	return math.Sin(2*math.Pi*(50*t-140*0.03*math.Expm1(-t/0.03))) * math.Exp(-t/0.15)
}

// plucked is eight harmonics that die away, the upper ones sooner.
func plucked(t, freqHz, decayS, since float64) (sum float64) {
	for h := 1.0; h <= 8; h++ {
		sum += math.Sin(2*math.Pi*h*freqHz*t) / h * math.Exp(-since*h/decayS)
	}
	return sum
}

func scaleTo(buf []dsp.Frame, peak float64) []dsp.Frame {
	most := 0.0
	for i := range buf {
		most = max(most, math.Abs(buf[i][0]), math.Abs(buf[i][1]))
	}
	if most > 0 {
		dsp.Gain(peak / most).Process(buf)
	}
	return buf
}
