package measure

import (
	"math"
	"math/bits"
	"math/cmplx"

	"strop/dsp/fourier"
)

// planFor is a transform of at least n samples.
func planFor(n int) *fourier.FFT {
	return fourier.NewFFT(max(8, 1<<bits.Len(uint(max(n, 1)-1))))
}

// spectrumOf transforms x, padded with zeros.
func spectrumOf(fft *fourier.FFT, x []float64) []complex128 {
	n := fft.Len()
	padded, re, im := make([]float64, n), make([]float64, n/2+1), make([]float64, n/2+1)
	copy(padded, x)
	fft.Forward(re, im, padded)
	z := make([]complex128, len(re))
	for k := range z {
		z[k] = complex(re[k], im[k])
	}
	return z
}

// samplesOf is the inverse of spectrumOf.
func samplesOf(fft *fourier.FFT, z []complex128) []float64 {
	x, re, im := make([]float64, fft.Len()), make([]float64, len(z)), make([]float64, len(z))
	for k := range z {
		re[k], im[k] = real(z[k]), imag(z[k])
	}
	fft.Inverse(x, re, im)
	return x
}

// transformAt is the transform of x at one frequency, in cycles a frame, and
// that of its first moment:
//
//	Σ x[i]·e^(−2πi·cycles·(i−origin)),  Σ (i−origin)·x[i]·e^(…)
func transformAt(x []float64, cycles, origin float64) (sum, moment complex128) {
	step := cmplx.Rect(1, -2*math.Pi*cycles)
	z := cmplx.Rect(1, 2*math.Pi*math.Mod(cycles*origin, 1))
	for i, v := range x {
		re, im := v*real(z), v*imag(z)
		at := float64(i) - origin
		sum += complex(re, im)
		moment += complex(at*re, at*im)
		z *= step
	}
	return sum, moment
}

// kaiser is a Kaiser window of n points, its side lobes about 150 dB down and
// its main lobe 5 bins to either side, over the sum of its points.
// Source: Kaiser & Schafer, On the use of the I0-sinh window for spectrum
// analysis, IEEE Trans. ASSP 28 (1980) (from memory).
func kaiser(n int) []float64 {
	const beta = 16
	w, sum := make([]float64, n), 0.0
	for i := range w {
		x := (2*float64(i) + 1 - float64(n)) / float64(n)
		w[i] = besselI0(beta * math.Sqrt(1-x*x))
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// toneRatio is the amplitude of the tone at one frequency, in cycles a frame,
// in samples that have been multiplied by a window whose points add up to 1.
func toneRatio(windowed []float64, cycles float64) float64 {
	sum, _ := transformAt(windowed, cycles, 0)
	return 2 * cmplx.Abs(sum)
}
