package space

import (
	"fmt"
	"math"
)

// Response is an impulse response in stereo: [in][out] is what the output
// channel hears of the input channel. A path that is nil is silent; two of
// them, [0][0] and [1][1], are plain stereo, all four are true stereo.
//
// A Response is not changed once it is made.
type Response [2][2][]float64

// Len is the length of the longest path in frames.
func (r *Response) Len() int {
	n := 0
	for _, from := range r {
		n = max(n, len(from[0]), len(from[1]))
	}
	return n
}

// Energy is the energy, summed over both outputs, of the answer to a click of
// 1 on one input; the mean over the two inputs.
func (r *Response) Energy() float64 {
	sum := 0.0
	for _, from := range r {
		for _, path := range from {
			for _, x := range path {
				sum += x * x
			}
		}
	}
	return sum / 2
}

// scale multiplies a response in the making.
func (r *Response) scale(ratio float64) {
	for _, from := range r {
		for _, path := range from {
			for i := range path {
				path[i] *= ratio
			}
		}
	}
}

// check reports what is not a number.
func (r *Response) check() error {
	for in, from := range r {
		for out, path := range from {
			for i, x := range path {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					return fmt.Errorf("frame %d of the impulse response from channel %d to %d is %g; take a finite one", i, in, out, x)
				}
			}
		}
	}
	return nil
}

// widen sets how far the two outputs differ: the difference of the outputs is
// multiplied by width, and the whole scaled to the energy it had.
func (r *Response) widen(width float64) {
	if width == 1 {
		return
	}
	before := r.Energy()
	for in := range r {
		n := max(len(r[in][0]), len(r[in][1]))
		for out := range 2 {
			r[in][out] = append(r[in][out], make([]float64, n-len(r[in][out]))...)
		}
		left, right := r[in][0], r[in][1]
		for i := range left {
			mid, side := (left[i]+right[i])/2, width*(left[i]-right[i])/2
			left[i], right[i] = mid+side, mid-side
		}
	}
	if after := r.Energy(); after > 0 {
		r.scale(math.Sqrt(before / after))
	}
}
