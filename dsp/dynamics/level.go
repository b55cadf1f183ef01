package dynamics

import (
	"math"

	"strop/dsp"
)

// block is how many frames are taken through each stage at a time. No stage
// looks at where a block ends.
const block = 64

const (
	softest = 1e-15 // less is as good as nothing, and so is a NaN
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

// linkedLevels are the levels of the greater channel: per, for a doubling of
// what buf holds.
func linkedLevels(levels []float64, buf []dsp.Frame, per float64) {
	levels = levels[:len(buf)]
	for i := range buf {
		levels[i] = per * log2(bounded(size(buf[i][0], buf[i][1])))
	}
}

// channelLevels are the levels of each channel.
func channelLevels(left, right []float64, buf []dsp.Frame, per float64) {
	left, right = left[:len(buf)], right[:len(buf)]
	for i := range buf {
		left[i] = per * log2(bounded(math.Abs(buf[i][0])))
		right[i] = per * log2(bounded(math.Abs(buf[i][1])))
	}
}

// power is a running mean square of each channel.
type power struct {
	rest float64 // of the difference, after a frame
	mean [2]float64
}

func (p *power) reset() { p.mean = [2]float64{} }

// follow replaces each sample by twice the mean square: a steady sine becomes
// the square of its peak, so that a threshold means the same for a sine however
// it is detected.
// What is not a number counts as nothing.
func (p *power) follow(buf []dsp.Frame) {
	rest, k, l, r := p.rest, 1-p.rest, p.mean[0], p.mean[1]
	for i := range buf {
		x, y := sane(buf[i][0]), sane(buf[i][1])
		l = rest*l + k*(x*x+tiny)
		r = rest*r + k*(y*y+tiny)
		buf[i][0], buf[i][1] = 2*l, 2*r
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
