package space

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"strop/dsp"
)

// reverbBlock is the block of the convolution in a reverb, and its latency: large,
// for a reverb is rendered, not played through. In blocks of 256 it would take
// twice the time. See Network for one that is turned while it sounds.
const reverbBlock = 4096

// Parameters that the reverbs by convolution share.
var (
	ratioParam    = dsp.Param{ID: "drrDB", Name: "direct-to-reverberant ratio", Unit: "dB", Min: -24, Max: 96, Neutral: 96}
	predelayParam = dsp.Param{ID: "predelayMS", Name: "pre-delay", Unit: "ms", Min: 0, Max: 200, Neutral: 0}
	widthParam    = dsp.Param{ID: "widthPct", Name: "width", Unit: "%", Min: 0, Max: 100, Neutral: 100}
	seedParam     = dsp.Param{ID: "seed", Name: "variation", Min: 0, Max: 99, Neutral: 0, Scale: dsp.Whole}
)

// A Reverberator is a reverb that tells what it adds to the direct sound. What
// is measured of that, and not the setting, is the truth about its decay.
type Reverberator interface {
	dsp.Processor
	Response() *Response
}

// A generator makes the impulse response of a reverb, as it is without
// pre-delay, width and level.
type generator func(rateHz float64, s dsp.Setting) (*Response, error)

// response is what is convolved with: the reverb of a setting, empty where its
// direct-to-reverberant ratio is that of no reverb at all.
func response(g generator, rateHz float64, s dsp.Setting) (*Response, error) {
	if s.Get(ratioParam) == ratioParam.Max {
		return &Response{}, nil
	}
	made, err := g(rateHz, s)
	if err != nil {
		return nil, err
	}
	r := made.clone()
	r.widen(s.Get(widthParam) / 100)
	r.delay(int(math.Round(s.Get(predelayParam) * rateHz / 1000)))
	r.scale(dsp.FromDB(-s.Get(ratioParam)) / math.Sqrt(r.Energy()))
	return r, nil
}

// delay moves a response by n frames.
func (r *Response) delay(n int) {
	for in := range r {
		for out, path := range r[in] {
			if path != nil {
				r[in][out] = append(make([]float64, n), path...)
			}
		}
	}
}

// reverbSpec completes the declaration of a reverb that convolves.
//
// Of the kernels made, the last is kept: the sides of a trial are built alike,
// one after the other. So is the last response before pre-delay, width and
// level, for the next trial may differ in these alone. Neither is seen from
// outside, for they are never changed and depend on rate and setting alone.
func reverbSpec(spec dsp.Spec, g generator) dsp.Spec {
	before := spec.Params
	spec.Params = slices.Concat(before, []dsp.Param{predelayParam, widthParam, ratioParam, seedParam})
	var kernels last[*kernel]
	var responses last[*Response]
	kept := func(rateHz float64, s dsp.Setting) (*Response, error) {
		key := fmt.Sprint(rateHz, " ", s.Text(append(slices.Clip(before), seedParam)))
		return responses.get(key, func() (*Response, error) { return g(rateHz, s) })
	}
	spec.Build = func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		k, err := kernels.get(fmt.Sprint(rateHz, " ", s.Text(spec.Params)), func() (*kernel, error) {
			r, err := response(kept, rateHz, s)
			if err != nil {
				return nil, err
			}
			return newKernel(r, reverbBlock), nil
		})
		if err != nil {
			return nil, err
		}
		return newConvolver(k, 1), nil
	}
	return spec
}

// last keeps what was made last, by a key.
type last[T any] struct {
	mu   sync.Mutex
	key  string
	made T
}

func (l *last[T]) get(key string, make func() (T, error)) (T, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.key == key {
		return l.made, nil
	}
	made, err := make()
	if err == nil {
		l.key, l.made = key, made
	}
	return made, err
}
