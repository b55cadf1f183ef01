package measure

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// interpolatorTaps is how many samples a point between two of them is made
// of, half on either side.
const interpolatorTaps = 48

// interpolator makes points between two samples: a sinc under a Kaiser
// window, each set of taps scaled to pass direct current as it is. Flat within
// 0.005 dB to 0.9 of half the rate.
// Source: Kaiser, Nonrecursive digital filter design using the I0-sinh window
// function, IEEE ISCAS (1974); Kaiser & Schafer 1980, for 74 dB (from memory).
type interpolator struct {
	taps [][interpolatorTaps]float64 // by point
	// What a point may exceed the larger of its two neighbours by: bend times
	// the greatest second difference plus level times the greatest sample.
	bend, level float64
}

// newInterpolator makes factor−1 points between two samples.
func newInterpolator(factor int) interpolator {
	in := interpolator{taps: make([][interpolatorTaps]float64, factor-1)}
	for p := range in.taps {
		at := float64(p+1) / float64(factor)
		in.taps[p] = kaiserSinc(at)
		bend, level := excess(in.taps[p], at)
		in.bend, in.level = max(in.bend, bend), max(in.level, level)
	}
	return in
}

// kaiserSinc is the taps for the point at, from 0 to 1, between the two
// samples in the middle.
func kaiserSinc(at float64) (taps [interpolatorTaps]float64) {
	const half = interpolatorTaps / 2
	beta, sum := kaiser.Beta(74), 0.0
	for k := range taps {
		x := at - float64(k-half+1)
		taps[k] = math.Sin(math.Pi*x) / (math.Pi * x) * kaiser.Window(x/half, beta)
		sum += taps[k]
	}
	for k := range taps {
		taps[k] /= sum
	}
	return taps
}

// excess finds what a point can exceed the straight line between its two
// neighbours by.
//
// Let r be the taps less those of the straight line, S their running sum and
// T the running sum of S. Summed by parts twice,
//
//	Σ r[k]·x[k] = S[n]·x[n] − T[n−1]·(x[n]−x[n−1]) + Σ T[k]·(x[k+2]−2x[k+1]+x[k])
//
// with n the last tap, and the sum at the end over k from 0 to n−2. So it is
// no more than bend = Σ|T[k]| times the greatest second difference, plus
// level = |S[n]| + 2|T[n−1]| times the greatest sample. Music changes slowly
// from one sample to the next, so that its second difference is far smaller
// than itself. A trillionth is added for rounding.
func excess(taps [interpolatorTaps]float64, at float64) (bend, level float64) {
	const last = interpolatorTaps - 1
	taps[last/2] -= 1 - at
	taps[last/2+1] -= at
	s, t := 0.0, 0.0
	for k, r := range taps {
		s += r
		if k == last {
			break
		}
		t += s
		if k < last-1 {
			bend += math.Abs(t)
		}
	}
	return bend, math.Abs(s) + 2*math.Abs(t) + 1e-12
}

// bound is how far any point may exceed the larger of its two neighbours,
// where no sample under the taps is greater than level, and no second
// difference greater than bend.
func (in *interpolator) bound(level, bend float64) float64 {
	return in.bend*bend + in.level*level
}

// highest is the greatest magnitude of the points in the middle of x, in
// either channel.
func (in *interpolator) highest(x *[interpolatorTaps]dsp.Frame) float64 {
	peak := 0.0
	for p := range in.taps {
		y := taps.Sum(in.taps[p][:], x[:])
		peak = max(peak, math.Abs(y[0]), math.Abs(y[1]))
	}
	return peak
}
