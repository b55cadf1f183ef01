// Package resample changes the sample rate of stereo sound by a rational
// ratio, with a linear-phase windowed-sinc filter in polyphase form.
//
// Of two rates the lower sets the band. The filter is flat to 0.907 of its
// Nyquist frequency (20.0 kHz at 44.1 kHz) and below -110 dB from 1.002 of it
// on (22.1 kHz); images, aliases and ripple are below -110 dB too. The delay is
// taken out: frame 0 of the output is frame 0 of the input. Sound outside the
// input counts as silence, or, with [Loop], as the loop again.
//
// Source: Crochiere and Rabiner, Multirate Digital Signal Processing, 1983,
// section 3.3 (polyphase structures for L/M); Kaiser, Nonrecursive digital
// filter design using the I0-sinh window function, 1974 (the window and its
// attenuation).
package resample

import (
	"fmt"
	"math"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

// The filter. An attenuation of 118 dB needs a Kaiser window with
// beta = 0.1102·(118-8.7) = 12; its transition is then (118-8)/(2.285·2π·160) =
// 0.048 of the lower rate wide, and the cut-off frequency lies in its middle.
const (
	halfLobes = 80    // zero crossings of the sinc on either side
	beta      = 12.0  // of the Kaiser window
	cutoff    = 0.954 // -6 dB frequency relative to the lower Nyquist frequency

	maxTable = 1 << 22 // coefficients: 32 MiB
)

// A Resampler is the filter for one pair of rates. It has no memory of its
// own, so that one may serve any number of goroutines.
type Resampler struct {
	up, down int // output rate : input rate, in lowest terms
	taps     int // of one phase; even
	kernel   kernel
	table    []float64 // up phases of taps coefficients; nil where up = down
}

// New makes the filter for one pair of rates. They are whole numbers of hertz
// from [dsp.MinRateHz] to [dsp.MaxRateHz]. It is an error if their ratio in
// lowest terms needs a table of more than 32 MiB; no two rates in common use
// do.
func New(fromHz, toHz float64) (*Resampler, error) {
	for _, rateHz := range [...]float64{fromHz, toHz} {
		if !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz) || rateHz != math.Trunc(rateHz) {
			return nil, fmt.Errorf("a sample rate of %g Hz cannot be converted: it must be a whole number from %d to %d Hz",
				rateHz, dsp.MinRateHz, dsp.MaxRateHz)
		}
	}
	from, to := int(fromHz), int(toHz)
	div := gcd(from, to)
	r := &Resampler{up: to / div, down: from / div}
	if r.up == r.down {
		return r, nil
	}
	r.kernel = newKernel(fromHz, toHz)
	r.taps = 2 * int(math.Ceil(r.kernel.halfFrames))
	if r.up*r.taps > maxTable {
		return nil, fmt.Errorf("%d Hz cannot be converted to %d Hz: the two rates have too little in common", from, to)
	}
	r.table = make([]float64, r.up*r.taps)
	for p := range r.up {
		r.kernel.phase(r.table[p*r.taps:][:r.taps], float64(p)/float64(r.up))
	}
	return r, nil
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Len is how many frames n input frames become: n·to/from, rounded up.
func (r *Resampler) Len(n int) int {
	return (n*r.up + r.down - 1) / r.down
}

// Frames gives the whole of src at the rate toHz, [Resampler.Len] frames. Where
// the rates are equal the result is src itself, not a copy.
func Frames(src []dsp.Frame, fromHz, toHz float64) ([]dsp.Frame, error) {
	r, err := New(fromHz, toHz)
	if err != nil {
		return nil, err
	}
	if r.table == nil {
		return src, nil
	}
	dst := make([]dsp.Frame, r.Len(len(src)))
	r.Stream(&memory{rest: src}).Stream(dst)
	return dst, nil
}

// memory streams frames that are there.
type memory struct{ rest []dsp.Frame }

var _ beep.Streamer = (*memory)(nil)

func (m *memory) Stream(buf []dsp.Frame) (n int, ok bool) {
	n = copy(buf, m.rest)
	m.rest = m.rest[n:]
	return n, n > 0
}

func (m *memory) Err() error { return nil }
