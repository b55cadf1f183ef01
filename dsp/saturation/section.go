package saturation

import (
	"math"

	"strop/dsp"
)

// section is a filter of first order, y = b0·x + b1·x₁ − a1·y₁. A nil one
// changes nothing.
type section struct {
	b0, b1, a1 float64
	x, y       dsp.Frame
}

// newShelf rises by gainDB towards the treble; its zero is at cornerHz.
//
//	(1 + s/w)/(1 + s/(w·g)),  g = 10^(gainDB/20), bilinear transform
func newShelf(rateHz, cornerHz, gainDB float64) *section {
	zero := rateHz / (math.Pi * cornerHz)
	pole := zero / dsp.FromDB(gainDB)
	return &section{b0: (1 + zero) / (1 + pole), b1: (1 - zero) / (1 + pole), a1: (1 - pole) / (1 + pole)}
}

// newBlocker keeps DC back: a high-pass, 3 dB down at cornerHz.
func newBlocker(rateHz, cornerHz float64) *section {
	k := math.Tan(math.Pi * cornerHz / rateHz)
	return &section{b0: 1 / (1 + k), b1: -1 / (1 + k), a1: (k - 1) / (k + 1)}
}

// inverse undoes f.
func (f *section) inverse() *section {
	return &section{b0: 1 / f.b0, b1: f.a1 / f.b0, a1: f.b1 / f.b0}
}

// settle is how many frames it takes until a step has died away to −140 dB.
func (f *section) settle() int {
	if f == nil || f.a1 == 0 {
		return 0
	}
	return int(math.Ceil(math.Log(dsp.FromDB(-140)) / math.Log(math.Abs(f.a1))))
}

func (f *section) reset() {
	if f != nil {
		f.x, f.y = dsp.Frame{}, dsp.Frame{}
	}
}

func (f *section) process(buf []dsp.Frame) {
	if f == nil {
		return
	}
	b0, b1, a1, x, y := f.b0, f.b1, f.a1, f.x, f.y
	for i, in := range buf {
		y[0] = b0*in[0] + b1*x[0] - a1*y[0]
		y[1] = b0*in[1] + b1*x[1] - a1*y[1]
		x, buf[i] = in, y
	}
	f.x, f.y = x, y
}
