package stereo

import (
	"math"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/kaiser"
)

// SpeedOfSoundMPS is that in air of 20 °C, in metres per second: 1 m takes
// 2.915 ms. Common practice; 331.3·√(1 + T/273.15) gives 343.2.
const SpeedOfSoundMPS = 343

var (
	delayMS       = dsp.Param{ID: "delayMS", Name: "delay", Unit: "ms", Min: 0, Max: 100, Neutral: 0}
	delayDistance = dsp.Param{ID: "distanceM", Name: "distance", Unit: "m", Min: 0, Max: 30, Neutral: 0}
	delaySamples  = dsp.Param{ID: "samples", Name: "samples", Unit: "", Min: 0, Max: 1000, Neutral: 0}
	delayLeft     = dsp.Param{ID: "left", Name: "left channel delayed", Min: 0, Max: 1, Neutral: 1, Scale: dsp.Whole}
	delayRight    = dsp.Param{ID: "right", Name: "right channel delayed", Min: 0, Max: 1, Neutral: 1, Scale: dsp.Whole}
)

// Delay delays channels, by parts of a sample where need be.
//
//	delayMS    time                                       0 to 100 ms
//	distanceM  the way of sound through air at 343 m/s    0 to 30 m
//	samples    number of samples, parts of one too        0 to 1000
//	left       1 delays the left channel                  0 or 1
//	right      1 delays the right channel                 0 or 1
//
// The three lengths add up; at 0, the neutral setting, sound passes to the bit.
// A channel that is not delayed takes the same path. Latency: 31 frames, besides
// the delay itself.
//
// A part of a sample is interpolated by a windowed sinc of 64 taps, whose gain
// is within 0.001 dB of 1 and whose delay is within 0.0001 sample of the one
// asked for, up to 0.45 of the rate: 20 kHz at 44.1 kHz.
//
// Source: T. I. Laakso, V. Välimäki, M. Karjalainen, U. K. Laine, Splitting the
// unit delay, IEEE Signal Processing Magazine 13(1) (1996) (from memory).
var Delay = dsp.Spec{
	ID:     "delay",
	Name:   "delay",
	Doc:    "Delays the left channel, the right one or both.",
	Source: "Laakso, Välimäki, Karjalainen & Laine, Splitting the unit delay, IEEE SPM 13(1), 1996",
	Params: []dsp.Param{delayMS, delayDistance, delaySamples, delayLeft, delayRight},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		frames := DelaySamples(rateHz, s)
		return newDelay(frames*s.Get(delayLeft), frames*s.Get(delayRight)), nil
	},
	Matrix: func(rateHz, freqHz float64, s dsp.Setting) [2][2]complex128 {
		frames, w := DelaySamples(rateHz, s), 2*math.Pi*freqHz/rateHz
		return [2][2]complex128{{delayResponse(frames*s.Get(delayLeft), w), 0}, {0, delayResponse(frames*s.Get(delayRight), w)}}
	},
}

// delayResponse is that of the taps for so many frames, less the latency, at w
// radians a frame: cmplx.Rect(1, −w·frames) as nearly as Delay promises.
func delayResponse(frames, w float64) (h complex128) {
	whole, part := math.Modf(frames)
	for i, tap := range sincTaps(part) {
		h += cmplx.Rect(tap, -w*(whole+float64(i)-delayLatency))
	}
	return h
}

// DelaySamples is what a setting of Delay comes to at a rate.
func DelaySamples(rateHz float64, s dsp.Setting) float64 {
	return rateHz*(s.Get(delayMS)/1000+s.Get(delayDistance)/SpeedOfSoundMPS) + s.Get(delaySamples)
}

const (
	delayTaps    = 64
	delayLatency = delayTaps/2 - 1
	delayBlock   = 256
	delayBeta    = 9 // of the Kaiser window
)

// delay holds whole frames back in a ring, each channel its own number, then
// interpolates.
type delay struct {
	whole [2]int
	taps  [delayTaps]dsp.Frame // of each channel, last first
	ring  []dsp.Frame
	at    int
	work  [delayTaps - 1 + delayBlock]dsp.Frame // the last frames of the block before, then a block
}

var (
	_ dsp.Processor = (*delay)(nil)
	_ dsp.Delayer   = (*delay)(nil)
)

func newDelay(left, right float64) *delay {
	d := &delay{ring: make([]dsp.Frame, int(max(left, right))+1)}
	for side, frames := range [2]float64{left, right} {
		whole, part := math.Modf(frames)
		d.whole[side] = int(whole)
		for i, tap := range sincTaps(part) {
			d.taps[delayTaps-1-i][side] = tap
		}
	}
	return d
}

// sincTaps delay by delayLatency frames and a part of one. Their sum is 1.
func sincTaps(part float64) (taps [delayTaps]float64) {
	if part == 0 {
		taps[delayLatency] = 1
		return taps
	}
	sum := 0.0
	for i := range taps {
		x := float64(i) - delayLatency - part
		taps[i] = math.Sin(math.Pi*x) / (math.Pi * x) * kaiser.Window(2*x/delayTaps, delayBeta)
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

func (d *delay) DelayFrames() int { return delayLatency }

func (d *delay) Reset() {
	clear(d.ring)
	clear(d.work[:])
	d.at = 0
}

func (d *delay) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), delayBlock)
		d.hold(buf[:n])
		d.interpolate(buf[:n])
		buf = buf[n:]
	}
}

// hold takes frames into the ring, and those that are due out into the work.
func (d *delay) hold(buf []dsp.Frame) {
	ring, at, due := d.ring, d.at, d.work[delayTaps-1:]
	left, right := behind(at, d.whole[0], len(ring)), behind(at, d.whole[1], len(ring))
	for i := range buf {
		ring[at] = buf[i]
		due[i] = dsp.Frame{ring[left][0], ring[right][1]}
		at, left, right = after(at, len(ring)), after(left, len(ring)), after(right, len(ring))
	}
	d.at = at
}

func behind(at, n, size int) int { return (at - n + size) % size }

func after(at, size int) int {
	if at++; at == size {
		return 0
	}
	return at
}

// interpolate writes what the work comes to over buf, and keeps its end. Even
// and odd taps are summed apart, so that one sum does not wait for the other.
func (d *delay) interpolate(buf []dsp.Frame) {
	taps := &d.taps
	for i := range buf {
		past := (*[delayTaps]dsp.Frame)(d.work[i:])
		var l, r, evenL, evenR float64
		for k := 0; k < delayTaps; k += 2 {
			evenL += taps[k][0] * past[k][0]
			evenR += taps[k][1] * past[k][1]
			l += taps[k+1][0] * past[k+1][0]
			r += taps[k+1][1] * past[k+1][1]
		}
		buf[i] = dsp.Frame{l + evenL, r + evenR}
	}
	copy(d.work[:delayTaps-1], d.work[len(buf):])
}
