package fault

import (
	"strop/dsp"
	"strop/dsp/fourier"
)

// convolution convolves both channels with one response, a block at a time: the
// response is cut into pieces of a block, each transformed once; a block of
// input is transformed and multiplied with all of them, and what is due added
// up. It lags by a block.
// Source: T. G. Stockham, High-speed convolution and correlation, AFIPS (1966),
// in uniform partitions.
type convolution struct {
	block  int
	fft    *fourier.FFT
	pieces []piece
	at     int // frames into the block
	sides  [2]convolved
	re, im []float64 // work space
	time   []float64
}

// piece is a transformed block.
type piece struct{ re, im []float64 }

// convolved is one channel.
type convolved struct {
	in, out []float64
	past    []piece // the last blocks, a ring
	newest  int
}

func newConvolution(h []float64, block int) *convolution {
	c := &convolution{
		block: block, fft: fourier.NewFFT(2 * block),
		re: make([]float64, block+1), im: make([]float64, block+1), time: make([]float64, 2*block),
	}
	for len(h) > 0 {
		n := min(block, len(h))
		clear(c.time)
		copy(c.time, h[:n])
		p := piece{make([]float64, block+1), make([]float64, block+1)}
		c.fft.Forward(p.re, p.im, c.time)
		c.pieces = append(c.pieces, p)
		h = h[n:]
	}
	for side := range c.sides {
		s := &c.sides[side]
		s.in, s.out = make([]float64, 2*block), make([]float64, block)
		for range c.pieces {
			s.past = append(s.past, piece{make([]float64, block+1), make([]float64, block+1)})
		}
	}
	return c
}

func (c *convolution) reset() {
	c.at = 0
	for side := range c.sides {
		s := &c.sides[side]
		clear(s.in)
		clear(s.out)
		s.newest = 0
		for _, p := range s.past {
			clear(p.re)
			clear(p.im)
		}
	}
}

// process writes what a block of the input gives, and the input of a block
// before itself, over buf.
func (c *convolution) process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), c.block-c.at)
		for side := range c.sides {
			s := &c.sides[side]
			last, in, out := s.in[c.at:][:n], s.in[c.block+c.at:][:n], s.out[c.at:][:n]
			for i := range in {
				in[i], buf[i][side] = buf[i][side], last[i]+out[i]
			}
		}
		buf = buf[n:]
		if c.at += n; c.at == c.block {
			c.at = 0
			c.turn(&c.sides[0])
			c.turn(&c.sides[1])
		}
	}
}

// turn convolves a block that is complete.
func (c *convolution) turn(s *convolved) {
	if len(c.pieces) > 0 {
		clear(c.re)
		clear(c.im)
		c.fft.Forward(s.past[s.newest].re, s.past[s.newest].im, s.in)
		at := s.newest
		for _, p := range c.pieces {
			past := &s.past[at]
			fourier.MulAdd(c.re, c.im, past.re, past.im, p.re, p.im)
			if at--; at < 0 {
				at = len(s.past) - 1
			}
		}
		if s.newest++; s.newest == len(s.past) {
			s.newest = 0
		}
		c.fft.Inverse(c.time, c.re, c.im)
		copy(s.out, c.time[c.block:])
	}
	copy(s.in, s.in[c.block:])
}
