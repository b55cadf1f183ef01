// Package yin finds the period of a sound, for the meters and the processors of
// pitch.
//
// Source: A. de Cheveigné, H. Kawahara, YIN, a fundamental frequency estimator
// for speech and music, JASA 111(4) (2002) (from memory).
package yin

import (
	"math"

	"strop/dsp/fourier"
)

// A Finder compares a window of sound with itself, lag by lag.
//
//	d(τ) = Σ (x[j] − x[j+τ])²,  j from 0 to Window − 1         (eq. 6)
//	d'(τ) = d(τ)·τ/Σ d(i), i from 1 to τ;  d'(0) = 1           (eq. 8)
//
// It holds work space: each goroutine needs its own. No method allocates.
type Finder struct {
	Window, MaxLag int

	fft        *fourier.FFT
	padded     []float64
	ar, ai     []float64
	br, bi     []float64
	difference []float64 // d
	normalised []float64 // d'
	table      [quarters][reach]float64
}

const (
	quarters = 4
	reach    = 32 // frames that one between two is made of
)

// New compares window frames at lags up to maxLag.
func New(window, maxLag int) *Finder {
	n := 8
	for n < window+maxLag+1 {
		n *= 2
	}
	f := &Finder{
		Window: window, MaxLag: maxLag, fft: fourier.NewFFT(n), padded: make([]float64, n),
		ar: make([]float64, n/2+1), ai: make([]float64, n/2+1), br: make([]float64, n/2+1), bi: make([]float64, n/2+1),
		difference: make([]float64, maxLag+1), normalised: make([]float64, maxLag+1),
	}
	for p := range f.table {
		f.table[p] = between(float64(p) / quarters)
	}
	return f
}

// between is a sinc for a place from 0 to 1 after the middle tap, under a Hann
// window that ends beside the outermost ones. The taps add up to 1.
func between(place float64) (taps [reach]float64) {
	sum := 0.0
	for k := range taps {
		x := float64(k-reach/2) - place
		taps[k] = 0.5 + 0.5*math.Cos(math.Pi*x/(reach/2+1))
		if x != 0 {
			taps[k] *= math.Sin(math.Pi*x) / (math.Pi * x)
		}
		sum += taps[k]
	}
	for k := range taps {
		taps[k] /= sum
	}
	return taps
}

// Frames is how many frames of sound Compare needs.
func (f *Finder) Frames() int { return f.Window + f.MaxLag }

// Compare is d' of x, for lags 0 to MaxLag. The result stays valid until the
// next call. Silence gives 1 at every lag.
func (f *Finder) Compare(x []float64) []float64 {
	x = x[:f.Frames()]
	f.correlate(x)
	head, tail := 0.0, 0.0
	for _, v := range x[:f.Window] {
		head += v * v
	}
	tail = head
	sum := 0.0
	f.difference[0], f.normalised[0] = 0, 1
	for lag := 1; lag <= f.MaxLag; lag++ {
		in, out := x[f.Window+lag-1], x[lag-1]
		tail += in*in - out*out
		d := max(0, head+tail-2*f.padded[lag])
		if d < 1e-13*head {
			d = 0 // rounding
		}
		sum += d
		f.difference[lag], f.normalised[lag] = d, 1
		if sum > 0 {
			f.normalised[lag] = d * float64(lag) / sum
		}
	}
	return f.normalised
}

// correlate leaves Σ x[j]·x[j+τ], j within the window, in padded.
func (f *Finder) correlate(x []float64) {
	n := copy(f.padded, x[:f.Window])
	clear(f.padded[n:])
	f.fft.Forward(f.ar, f.ai, f.padded)
	n = copy(f.padded, x)
	clear(f.padded[n:])
	f.fft.Forward(f.br, f.bi, f.padded)
	for k := range f.ar {
		a, b, c, d := f.ar[k], f.ai[k], f.br[k], f.bi[k]
		f.br[k], f.bi[k] = a*c+b*d, a*d-b*c
	}
	f.fft.Inverse(f.padded, f.br, f.bi)
}

// First is the lag, from least on, at which d' is lowest the first time that it
// is below threshold, and 0 if it never is.
func First(normalised []float64, least int, threshold float64) (lag int) {
	for i := max(least, 1); i < len(normalised)-1; i++ {
		if below := normalised[i] < threshold; below && (lag == 0 || normalised[i] < normalised[lag]) {
			lag = i
		} else if !below && lag > 0 {
			break
		}
	}
	return lag
}

// Refine is the place of the minimum of d near a lag at which the sound, given
// to Compare last, was found to repeat, between whole lags: d is computed at
// quarters of a lag, x interpolated by a sinc, as if it had been given at four
// times the rate, and a parabola laid through three of them. Lags within 17 of
// 0 or of MaxLag have the parabola alone.
func (f *Finder) Refine(x []float64, lag int) float64 {
	switch {
	case lag < 1 || lag >= f.MaxLag:
		return float64(lag)
	case lag <= reach/2 || lag >= f.MaxLag-reach/2:
		return float64(lag) + vertex(f.difference[lag-1], f.difference[lag], f.difference[lag+1])
	}
	const quarter = 1.0 / quarters
	at, side := 0, 1
	middle, left, right := f.difference[lag], f.at(x, lag, -1), f.at(x, lag, 1)
	if left < right {
		side = -1
		left, right = right, left
	}
	// right is the lower side now: go down it, a lag at most.
	for right < middle && at < quarters {
		at++
		left, middle, right = middle, right, f.at(x, lag, side*(at+1))
	}
	return float64(lag) + float64(side)*quarter*(float64(at)+vertex(left, middle, right))
}

// at is d at i quarters after a lag.
func (f *Finder) at(x []float64, lag, i int) (sum float64) {
	whole, taps := lag+i>>2, &f.table[i&(quarters-1)]
	first := x[whole-reach/2:]
	for j, v := range x[:f.Window] {
		y := 0.0
		for k, w := range (*[reach]float64)(first[j:]) {
			y += taps[k] * w
		}
		sum += (v - y) * (v - y)
	}
	return sum
}

// vertex is where the parabola through three points one apart is lowest, from
// the middle one, within ±½.
func vertex(a, b, c float64) float64 {
	bend := a - 2*b + c
	if !(bend > 0) {
		return 0
	}
	return min(max((a-c)/(2*bend), -0.5), 0.5)
}
