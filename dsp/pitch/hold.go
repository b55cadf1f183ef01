package pitch

import "strop/dsp"

// hold gives frames back so many frames later, to the bit.
type hold struct {
	ring []dsp.Frame
	at   int
}

var (
	_ dsp.Processor = (*hold)(nil)
	_ dsp.Delayer   = (*hold)(nil)
)

func newHold(frames int) *hold { return &hold{ring: make([]dsp.Frame, frames)} }

func (h *hold) DelayFrames() int { return len(h.ring) }

func (h *hold) Reset() {
	clear(h.ring)
	h.at = 0
}

func (h *hold) Process(buf []dsp.Frame) {
	ring, at := h.ring, h.at
	if len(ring) == 0 {
		return
	}
	for i := range buf {
		buf[i], ring[at] = ring[at], buf[i]
		if at++; at == len(ring) {
			at = 0
		}
	}
	h.at = at
}
