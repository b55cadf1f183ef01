package pitch

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

var timeShift = dsp.Param{ID: "shiftMS", Name: "time", Unit: "ms", Min: -250, Max: 250, Neutral: 0}

// TimeShift plays a part earlier or later against everything else.
//
//	shiftMS  how much later; less than 0 is earlier  −250 to 250 ms; 0 does nothing, to the bit
//
// Latency: 250 ms and 32 frames at every setting, so that what is earlier comes
// before that. A loop that is played round and round is shifted round.
//
// Parts of a sample are interpolated by a windowed sinc of 64 taps, flat within
// 0.001 dB to 0.45 of the rate.
//
// Source: T. I. Laakso, V. Välimäki, M. Karjalainen, U. K. Laine, Splitting the
// unit delay, IEEE Signal Processing Magazine 13(1) (1996) (from memory).
var TimeShift = dsp.Spec{
	ID:     "timeshift",
	Name:   "time shift",
	Doc:    "Plays a part earlier or later.",
	Source: "Laakso, Välimäki, Karjalainen & Laine, Splitting the unit delay, IEEE SPM 13(1), 1996",
	Params: []dsp.Param{timeShift},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newLater(rateHz, s.Get(timeShift)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) (h complex128) {
		whole, taps := laterBy(rateHz, s.Get(timeShift))
		first := whole - mostLater(rateHz)
		for i, tap := range taps {
			h += cmplx.Rect(tap, -2*math.Pi*freqHz/rateHz*float64(first+laterTaps-1-i))
		}
		return h
	},
}

const (
	laterTaps  = 64
	laterBlock = 256
)

// mostLater is the latency, without shift.
func mostLater(rateHz float64) int {
	return int(math.Ceil(timeShift.Max*rateHz/1000)) + laterTaps/2
}

// laterBy is how many whole frames a shift, with the latency, takes before the
// taps that do the rest: the first tap is for the oldest frame.
func laterBy(rateHz, shiftMS float64) (whole int, taps [laterTaps]float64) {
	at, part := math.Modf(float64(mostLater(rateHz)) + shiftMS*rateHz/1000)
	if part == 0 {
		taps[laterTaps/2] = 1
	} else {
		fineness{half: laterTaps / 2, beta: 9, cutoff: 0.5}.sinc(taps[:], 1-part, 1)
	}
	return int(at) - (laterTaps/2 - 1), taps
}

// later holds frames back and interpolates.
type later struct {
	delay int
	whole *hold
	taps  [laterTaps]float64
	work  [laterTaps - 1 + laterBlock]dsp.Frame // the last frames of the block before, then a block
}

var (
	_ dsp.Processor = (*later)(nil)
	_ dsp.Delayer   = (*later)(nil)
)

func newLater(rateHz, shiftMS float64) *later {
	whole, taps := laterBy(rateHz, shiftMS)
	return &later{delay: mostLater(rateHz), whole: newHold(whole), taps: taps}
}

func (l *later) DelayFrames() int { return l.delay }

func (l *later) Reset() {
	l.whole.Reset()
	clear(l.work[:])
}

func (l *later) Process(buf []dsp.Frame) {
	l.whole.Process(buf)
	for len(buf) > 0 {
		n := copy(l.work[laterTaps-1:], buf)
		l.interpolate(buf[:n])
		copy(l.work[:laterTaps-1], l.work[n:])
		buf = buf[n:]
	}
}

func (l *later) interpolate(buf []dsp.Frame) {
	taps := &l.taps
	for i := range buf {
		x := (*[laterTaps]dsp.Frame)(l.work[i:])
		var left, right, left2, right2 float64
		for k := 0; k < laterTaps; k += 2 {
			left += taps[k] * x[k][0]
			right += taps[k] * x[k][1]
			left2 += taps[k+1] * x[k+1][0]
			right2 += taps[k+1] * x[k+1][1]
		}
		buf[i] = dsp.Frame{left + left2, right + right2}
	}
}
