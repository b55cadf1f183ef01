package dynamics

import (
	"math"

	"strop/dsp"
)

// block is how many frames are taken through each stage at a time. No stage
// looks at where a block ends.
const block = 64

const (
	softest = 1e-15 // −300 dB; less is as good as nothing, and so is a NaN
	loudest = 1e15
)

func bounded(x float64) float64 {
	switch {
	case !(x > softest):
		return softest
	case x > loudest:
		return loudest
	}
	return x
}

// linkedLevels are the levels of the greater channel.
func linkedLevels(levels []float64, buf []dsp.Frame) {
	levels = levels[:len(buf)]
	for i := range buf {
		levels[i] = log2(bounded(size(buf[i][0], buf[i][1])))
	}
}

// channelLevels are the levels of one channel.
func channelLevels(levels []float64, buf []dsp.Frame, side int) {
	levels = levels[:len(buf)]
	for i := range buf {
		levels[i] = log2(bounded(math.Abs(buf[i][side&1])))
	}
}

// power is a running mean square of each channel.
type power struct {
	rest float64 // of the difference, after a frame
	mean [2]float64
}

func (p *power) reset() { p.mean = [2]float64{} }

// follow replaces each sample by √(2·mean square): a steady sine becomes its
// peak, so that a threshold means the same for a sine however it is detected.
// What is not a number counts as nothing.
func (p *power) follow(buf []dsp.Frame) {
	k, l, r := 1-p.rest, p.mean[0], p.mean[1]
	for i := range buf {
		x, y := sane(buf[i][0]), sane(buf[i][1])
		l += k * (x*x + tiny - l)
		r += k * (y*y + tiny - r)
		buf[i] = dsp.Frame{math.Sqrt(2 * l), math.Sqrt(2 * r)}
	}
	p.mean = [2]float64{l, r}
}

// delay holds frames back by a fixed number.
type delay struct {
	line []dsp.Frame
	at   int
}

func newDelay(ms, rateHz float64) delay {
	return delay{line: make([]dsp.Frame, int(math.Round(ms*rateHz/1000)))}
}

// DelayFrames is the look-ahead.
func (d *delay) DelayFrames() int { return len(d.line) }

func (d *delay) reset() {
	clear(d.line)
	d.at = 0
}

func (d *delay) process(buf []dsp.Frame) {
	if len(d.line) == 0 {
		return
	}
	line, at := d.line, d.at
	for i := range buf {
		buf[i], line[at] = line[at], buf[i]
		if at++; at == len(line) {
			at = 0
		}
	}
	d.at = at
}
