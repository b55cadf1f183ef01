package pitch

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// A kernel reads a sound between its samples, to be played ratio times as
// fast: a sinc under J. F. Kaiser's window, its cut-off lowered where the sound
// becomes higher, so that nothing folds. Between two places of the table the
// taps are interpolated.
//
// Source: J. O. Smith, Digital audio resampling, CCRMA (2002); J. F. Kaiser,
// R. W. Schafer, On the use of the I0-sinh window for spectrum analysis, IEEE
// Trans. ASSP 28(1) (1980) (both from memory).
type kernel struct {
	half   int // taps on either side, a multiple of 4
	places int
	rows   []float64 // by place: the taps, and what to add for those of the next place; in the end those of place 1
}

// fineness is how much work a kernel is.
type fineness struct {
	half   float64 // samples on either side, at the lower of the two rates
	places int
	beta   float64 // of the window
	cutoff float64 // the middle of its slope over the lower rate
}

var (
	// fine is flat to 0.44 of the lower rate; what folds is below −110 dB.
	fine = fineness{half: 64, places: 2048, beta: 11.2, cutoff: 0.471}
	// quick is flat to 0.425; what folds is below −85 dB, but for the topmost
	// 0.015 of the band.
	quick = fineness{half: 32, places: 512, beta: 8.6, cutoff: 0.47}
)

func newKernel(f fineness, ratio float64) *kernel {
	stretch := max(1, ratio)
	k := &kernel{half: f.reach(ratio), places: f.places}
	n := 2 * k.half
	k.rows = make([]float64, (2*f.places+1)*n)
	// Places as far from either end have the same taps, turned round.
	for p := range f.places/2 + 1 {
		here, there := k.rows[2*p*n:][:n], k.rows[2*(f.places-p)*n:][:n]
		f.sinc(here, float64(p)/float64(f.places), stretch)
		for i, x := range here {
			there[n-1-i] = x
		}
	}
	for p := range f.places {
		here, steps, next := k.rows[2*p*n:][:n], k.rows[(2*p+1)*n:][:n], k.rows[(2*p+2)*n:][:n]
		for i, x := range next {
			steps[i] = x - here[i]
		}
	}
	return k
}

// reach is how many samples on either side are needed to play ratio times as
// fast.
func (f fineness) reach(ratio float64) int { return 4 * int(math.Ceil(f.half*max(1, ratio)/4)) }

// sinc is the taps for the point at, from 0 to 1, after the last sample of the
// first half. They add up to 1.
func (f fineness) sinc(taps []float64, at, stretch float64) {
	w := 2 * math.Pi * f.cutoff / stretch
	half := f.half * stretch
	sum := 0.0
	for i := range taps {
		x := float64(i-len(taps)/2+1) - at
		taps[i] = 0
		if in := 1 - x*x/(half*half); in >= 0 {
			taps[i] = kaiser.I0(f.beta * math.Sqrt(in)) // the window, but for a factor
		}
		if x != 0 {
			taps[i] *= math.Sin(w*x) / (w * x)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
}

// read is x at the place at, which lies half frames from either end at least.
func (k *kernel) read(x []dsp.Frame, at float64) dsp.Frame {
	whole := int(at)
	place := (at - float64(whole)) * float64(k.places)
	p := int(place)
	part := place - float64(p)
	n := 2 * k.half
	row := k.rows[2*p*n:][:2*n]
	return taps.Between(row[:n], row[n:], part, x[whole-k.half+1:][:n])
}

// run fills out with x at places step apart, from the place at on; all lie half
// frames from either end at least.
func (k *kernel) run(out, x []dsp.Frame, at, step float64) {
	taps.Walk(out, k.rows, 2*k.half, k.places, x[1:], at-float64(k.half), step)
}
