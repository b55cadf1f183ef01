package space

import (
	"errors"
	"fmt"
	"math"

	"strop/dsp"
)

const (
	ownStartDB = 40 // what comes before the response is so far above its start cut off
	ownLeadMS  = 1  // but for so much
	ownEndDB   = 80 // what lies further below the peak at the end is cut off
)

// Recorded makes an impulse response of a recording of one: trimmed, and of
// energy 1 as Response.Energy counts it, so that it is as loud as any other.
//
// left is what is heard of a click on the left input, right of one on the right
// input; both begin together. With right nil, left is what is heard of both at
// once, and each output hears its own input only.
//
// All is cut off that comes more than 1 ms before the first frame within 40 dB
// of the peak, or after the last one within 80 dB of it; the end fades in 10
// ms. The sample rate must be that of the sound to be convolved. A recording of
// silence, or one with a NaN, is refused.
func Recorded(rateHz float64, left, right []dsp.Frame) (*Response, error) {
	from, to, err := extent(rateHz, left, right)
	if err != nil {
		return nil, err
	}
	l := apart(left[min(from, len(left)):min(to, len(left))])
	r := Response{{l[0], nil}, {nil, l[1]}}
	if right != nil {
		r = Response{l, apart(right[min(from, len(right)):min(to, len(right))])}
	}
	for _, from := range r {
		for _, path := range from {
			fadeOut(path, rateHz)
		}
	}
	energy := r.Energy()
	if !(energy > 0) {
		return nil, errors.New("an impulse response of silence; take one that sounds")
	}
	r.scale(1 / math.Sqrt(energy))
	return &r, nil
}

// extent is the part of two recordings that is worth keeping.
func extent(rateHz float64, takes ...[]dsp.Frame) (from, to int, err error) {
	peak := 0.0
	for _, take := range takes {
		for i, x := range take {
			size := max(math.Abs(x[0]), math.Abs(x[1]))
			if math.IsNaN(size) || math.IsInf(size, 0) {
				return 0, 0, fmt.Errorf("frame %d of the impulse response is %g; take a finite one", i, x)
			}
			peak = max(peak, size)
		}
	}
	if peak == 0 {
		return 0, 0, errors.New("an impulse response of silence; take one that sounds")
	}
	from = math.MaxInt
	for _, take := range takes {
		for i, x := range take {
			size := max(math.Abs(x[0]), math.Abs(x[1]))
			if size >= peak*dsp.FromDB(-ownStartDB) {
				from = min(from, i)
			}
			if size >= peak*dsp.FromDB(-ownEndDB) {
				to = max(to, i+1)
			}
		}
	}
	return max(0, from-int(ownLeadMS*rateHz/1000)), to + int(fadeMS*rateHz/1000), nil
}

// NewOwn is a reverb by the engineer's own impulse response, with the last
// parameters of Hall: pre-delay, width and direct-to-reverberant ratio. At a
// ratio of 96 dB it is dry. Latency: 4096 frames.
func NewOwn(rateHz float64, r *Response, s dsp.Setting) (*Convolver, error) {
	spec := Own(r)
	p, err := spec.New(rateHz, s)
	if err != nil {
		return nil, err
	}
	return p.(*Convolver), nil
}

// Own declares a reverb by an impulse response, for as long as there is one: it
// has no row in a table.
func Own(r *Response) dsp.Spec {
	return dsp.Spec{
		ID:     "ownreverb",
		Name:   "own impulse response",
		Doc:    "Convolves with an impulse response of one's own.",
		Source: "W. G. Gardner, Efficient convolution without input-output delay, JAES 43(3), 1995",
		Params: []dsp.Param{predelayParam, widthParam, ratioParam},
		Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
			if err := r.check(); err != nil {
				return nil, err
			}
			if !(r.Energy() > 0) {
				return nil, errors.New("an impulse response of silence; take one that sounds")
			}
			levelled, err := response(func(float64, dsp.Setting) (*Response, error) { return r, nil }, rateHz, s)
			if err != nil {
				return nil, err
			}
			return newConvolver(newKernel(levelled, reverbBlock), 1), nil
		},
	}
}

func (r *Response) clone() *Response {
	var c Response
	for in, from := range r {
		for out, path := range from {
			if path != nil {
				c[in][out] = append([]float64{}, path...)
			}
		}
	}
	return &c
}
