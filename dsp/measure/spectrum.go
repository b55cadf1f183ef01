package measure

import (
	"math"
	"math/bits"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/fourier"
	"strop/dsp/kaiser"
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

// kaiserPoints is a Kaiser window of n points, its side lobes about 150 dB down and
// its main lobe 5 bins to either side, over the sum of its points.
// Source: Kaiser & Schafer, On the use of the I0-sinh window for spectrum
// analysis, IEEE Trans. ASSP 28 (1980) (from memory).
func kaiserPoints(n int) []float64 {
	const beta = 16
	w, sum := make([]float64, n), 0.0
	for i := range w {
		x := (2*float64(i) + 1 - float64(n)) / float64(n)
		w[i] = kaiser.Window(x, beta)
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

// hann is a periodic Hann window.
func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return w
}

func sumSquares(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// stereoFFT transforms left and right at once, as the two parts of a complex
// signal, a window at a time.
type stereoFFT struct {
	fft            *fourier.Complex
	window         []float64
	xr, xi, yr, yi []float64
}

func newStereoFFT(window []float64) stereoFFT {
	work := fourier.Apart(4, len(window))
	return stereoFFT{fourier.NewComplex(len(window)), window, work[0], work[1], work[2], work[3]}
}

// transform leaves the spectrum of the window of buf about centre in yr and
// yi; what lies outside of buf is silence.
func (s *stereoFFT) transform(buf []dsp.Frame, centre int) {
	start := centre - len(s.window)/2
	from, to := max(0, -start), min(len(s.window), len(buf)-start)
	to = max(to, from)
	clear(s.xr[:from])
	clear(s.xi[:from])
	for i := from; i < to; i++ {
		w := s.window[i]
		f := &buf[start+i]
		s.xr[i], s.xi[i] = w*f[0], w*f[1]
	}
	clear(s.xr[to:])
	clear(s.xi[to:])
	s.fft.Transform(s.yr, s.yi, s.xr, s.xi)
}
