package demo

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"strop/dsp"
)

// All spectra of the tests come from another FFT than our own.

// bandsHz are the octaves 63 Hz to 8 kHz; the third of an octave at 12.5 kHz
// is the last.
var bandsHz = []float64{63, 125, 250, 500, 1000, 2000, 4000, 8000, 12500}

// bandsDB are the levels of bandsHz relative to the whole, looked at every hop
// frames.
func bandsDB(x []float64, hop int) []float64 {
	const n = 1 << 13
	fft, frame := fourier.NewFFT(n), make([]float64, n)
	power, coefficients := make([]float64, n/2+1), make([]complex128, n/2+1)
	for start := 0; start+n <= len(x); start += hop {
		for i := range frame {
			frame[i] = x[start+i] * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
		}
		for i, v := range fft.Coefficients(coefficients, frame) {
			power[i] += real(v)*real(v) + imag(v)*imag(v)
		}
	}
	total := 0.0
	for _, p := range power {
		total += p
	}
	var levels []float64
	for _, hz := range bandsHz {
		half := math.Sqrt2
		if hz == 12500 {
			half = math.Exp2(1. / 6)
		}
		sum := 0.0
		for i, p := range power {
			if f := float64(i) * rateHz / n; f >= hz/half && f < hz*half {
				sum += p
			}
		}
		levels = append(levels, dsp.PowerToDB(sum/total))
	}
	return levels
}

// delayOf is by how many frames y is later than x, and the sign of their
// likeness: the first peak of the cross-correlation, its phase alone (GCC-PHAT),
// Knapp & Carter, The Generalized Correlation Method for Estimation of Time
// Delay, IEEE ASSP 24 (1976).
func delayOf(x, y []float64) (frames float64, sign float64) {
	n := 1
	for n < 2*max(len(x), len(y)) {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	pad := func(v []float64) []float64 { p := make([]float64, n); copy(p, v); return p }
	a, b := fft.Coefficients(nil, pad(x)), fft.Coefficients(nil, pad(y))
	for i := range a {
		c := b[i] * cmplx.Conj(a[i])
		a[i] = c / complex(cmplx.Abs(c)+1e-12, 0)
		if f := float64(i) * rateHz / float64(n); f < 150 || f > 12000 {
			a[i] = 0
		}
	}
	r := fft.Sequence(nil, a)
	first := firstPeak(r)
	between := func(at float64) float64 { // two frames, from the spectrum
		sum := 0.0
		for i, v := range a {
			if v != 0 {
				sum += real(v * cmplx.Rect(1, 2*math.Pi*float64(i)*at/float64(n)))
			}
		}
		return sum
	}
	frames, sign = float64(first), math.Copysign(1, r[first])
	best := 0.0
	for step := -16; step <= 16; step++ {
		at := float64(first) + float64(step)/16
		if v := sign * between(at); v > best {
			frames, best = at, v
		}
	}
	if frames > float64(n)/2 {
		frames -= float64(n)
	}
	return frames, sign
}

// firstPeak is the first place at which r is two thirds of its largest:
// reflections come later. Values before the middle come first.
func firstPeak(r []float64) int {
	largest := 0.0
	for _, v := range r {
		largest = max(largest, math.Abs(v))
	}
	for i, v := range r[:len(r)/2] {
		if math.Abs(v) > largest*2/3 && math.Abs(v) >= math.Abs(r[i+1]) {
			return i
		}
	}
	return 0
}

// partialHz is the frequency of the strongest partial near a frequency, from
// the phase by which it goes on between two looks at it.
func partialHz(x []float64, nearHz float64) float64 {
	const apart = 256
	hann := hannOf(len(x) - apart)
	for range 4 { // each look begins where the last one ended
		a, b := look(x, hann, nearHz), look(x[apart:], hann, nearHz)
		turn := cmplx.Phase(b * cmplx.Conj(a))
		expected := 2 * math.Pi * nearHz * apart / rateHz
		turn += 2 * math.Pi * math.Round((expected-turn)/(2*math.Pi))
		nearHz = turn / (2 * math.Pi * apart) * rateHz
	}
	return nearHz
}

func hannOf(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return w
}

// look is the component of x at a frequency, through a window.
func look(x, window []float64, hz float64) (sum complex128) {
	turn, at := cmplx.Rect(1, -2*math.Pi*hz/rateHz), complex(1, 0)
	for i, w := range window {
		sum += complex(w*x[i], 0) * at
		at *= turn
	}
	return sum
}

// tuning is how many cents a recording of a note is sharp: that of the
// strongest of its first three partials, after the attack.
func tuning(x []float64, noteHz float64) float64 {
	x = x[min(3000, len(x)/4):]
	x = x[:min(len(x), 24000)]
	best, level := 0.0, math.Inf(-1)
	for h := 1.0; h <= 3; h++ {
		hz := partialHz(x, h*noteHz)
		if math.Abs(cents(hz, h*noteHz)) > 60 {
			continue
		}
		if db, _ := fitTone(x, hz); db > level {
			best, level = cents(hz, h*noteHz), db
		}
	}
	return best
}

func cents(hz, re float64) float64 { return 1200 * math.Log2(hz/re) }

func toFloats(x []float32) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = float64(v)
	}
	return y
}

func correlation(x, y []float64) float64 {
	var xy, xx, yy float64
	for i := range x {
		xy, xx, yy = xy+x[i]*y[i], xx+x[i]*x[i], yy+y[i]*y[i]
	}
	return xy / math.Sqrt(xx*yy+1e-30)
}

func rmsDB(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v / float64(len(x))
	}
	return dsp.PowerToDB(sum)
}
