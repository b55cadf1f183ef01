package tools

import (
	"math"

	"strop/dsp"
)

// blended is so much of what a processor makes and the rest of what went in,
// as late as what it makes:
//
//	y = ratio·p(x) + (1 − ratio)·x
//
// Of a reverb whose direct sound passes unchanged, only the reverberation is
// turned. Latency: that of the processor.
type blended struct {
	p     dsp.Processor
	ratio float64
	late  []dsp.Frame // what went in and has not come out
	at    int
	dry   [256]dsp.Frame
}

var (
	_ dsp.Processor = (*blended)(nil)
	_ dsp.Delayer   = (*blended)(nil)
	_ dsp.Settler   = (*blended)(nil)
)

func blend(p dsp.Processor, ratio float64) *blended {
	return &blended{p: p, ratio: ratio, late: make([]dsp.Frame, dsp.DelayFrames(p))}
}

// Process blends block by block.
func (b *blended) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), len(b.dry))
		block := buf[:n]
		b.keep(block)
		b.p.Process(block)
		for i, f := range block {
			block[i][0] = b.ratio*f[0] + (1-b.ratio)*b.dry[i][0]
			block[i][1] = b.ratio*f[1] + (1-b.ratio)*b.dry[i][1]
		}
		buf = buf[n:]
	}
}

// keep puts what went in, as late as the processor is, into dry.
func (b *blended) keep(block []dsp.Frame) {
	copy(b.dry[:], block)
	if len(b.late) == 0 {
		return
	}
	at := b.at
	for i, f := range block {
		b.dry[i], b.late[at] = b.late[at], f
		if at++; at == len(b.late) {
			at = 0
		}
	}
	b.at = at
}

// Reset forgets everything.
func (b *blended) Reset() {
	b.p.Reset()
	clear(b.late)
	b.at = 0
}

// DelayFrames is the latency of the processor.
func (b *blended) DelayFrames() int { return dsp.DelayFrames(b.p) }

// SettleFrames is that of the processor, or long where it does not tell.
func (b *blended) SettleFrames() int { return dsp.SettleFrames(b.p, math.MaxInt32) }
