package fault

import (
	"math"

	"strop/dsp/fourier"
)

// mdct is the modified discrete cosine transform of blocks of 2n samples that
// overlap by half, under a sine window:
//
//	X[k] = √(2/n)·Σ w[i]·x[i]·cos(π/n·(i + ½ + n/2)·(k + ½)),  w[i] = sin(π/2n·(i + ½))
//
// n numbers describe 2n samples; what is lost cancels between one block and the
// next. It is folded into a cosine transform of type IV, which is a complex
// Fourier transform of n/2 numbers between two turns of their phases.
//
// Source: J. P. Princen, A. B. Bradley, Analysis/synthesis filter bank design
// based on time domain aliasing cancellation, IEEE Trans. ASSP 34(5) (1986);
// J. P. Princen, A. W. Johnson, A. B. Bradley, Subband/transform coding using
// filter bank designs based on time domain aliasing cancellation, ICASSP (1987).
type mdct struct {
	n              int
	window         []float64 // of 2n samples
	cos, sin       []float64 // of π(8k+1)/8n, k from 0 to n/2
	fft            *fourier.Complex
	fold           []float64
	xr, xi, yr, yi []float64
}

// newMDCT is a transform of n numbers, a power of two from 8 up.
func newMDCT(n int) *mdct {
	work := fourier.Apart(4, n/2)
	m := &mdct{
		n: n, window: make([]float64, 2*n), cos: make([]float64, n/2), sin: make([]float64, n/2),
		fft: fourier.NewComplex(n / 2), fold: make([]float64, n),
		xr: work[0], xi: work[1], yr: work[2], yi: work[3],
	}
	for i := range m.window {
		m.window[i] = math.Sin(math.Pi / float64(2*n) * (float64(i) + 0.5))
	}
	for k := range m.cos {
		m.sin[k], m.cos[k] = math.Sincos(math.Pi * float64(8*k+1) / float64(8*n))
	}
	return m
}

// forward writes the n numbers of 2n samples.
func (m *mdct) forward(dst, x []float64) {
	n, half, w, u := m.n, m.n/2, m.window, m.fold
	for i := range half {
		a, b := 3*half-1-i, 3*half+i
		u[i] = -w[a]*x[a] - w[b]*x[b]
		a, b = i, n-1-i
		u[half+i] = w[a]*x[a] - w[b]*x[b]
	}
	m.cosines(dst, u)
}

// inverse writes the 2n samples of n numbers, to be added to those of the
// blocks before and after.
func (m *mdct) inverse(dst, x []float64) {
	n, half, w, u := m.n, m.n/2, m.window, m.fold
	m.cosines(u, x)
	for i := range half {
		a, b := 3*half-1-i, 3*half+i
		dst[a], dst[b] = -w[a]*u[i], -w[b]*u[i]
		a, b = i, n-1-i
		dst[a], dst[b] = w[a]*u[half+i], -w[b]*u[half+i]
	}
}

// cosines is the cosine transform of type IV, its own inverse.
func (m *mdct) cosines(dst, x []float64) {
	n := m.n
	for i := range m.xr {
		re, im, c, s := x[2*i], x[n-1-2*i], m.cos[i], m.sin[i]
		m.xr[i], m.xi[i] = re*c+im*s, im*c-re*s
	}
	m.fft.Transform(m.yr, m.yi, m.xr, m.xi)
	scale := math.Sqrt(2 / float64(n))
	for k := range m.yr {
		re, im, c, s := m.yr[k], m.yi[k], m.cos[k], m.sin[k]
		dst[2*k], dst[n-1-2*k] = scale*(re*c+im*s), scale*(re*s-im*c)
	}
}
