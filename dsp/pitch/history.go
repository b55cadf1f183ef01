package pitch

import "strop/dsp"

// history is the end of a stream, whose frames are counted from its beginning.
// It is written and dropped in place and never grows.
type history struct {
	frames []dsp.Frame
	base   int // which frame frames[0] is
	n      int // frames held
}

func newHistory(size int) history { return history{frames: make([]dsp.Frame, size)} }

// reset holds silence from frame first up to frame next, which comes next.
func (h *history) reset(first, next int) {
	clear(h.frames)
	h.base, h.n = first, next-first
}

// end is the frame that comes next.
func (h *history) end() int { return h.base + h.n }

// grow gives room for n more frames, which the caller fills.
func (h *history) grow(n int) []dsp.Frame {
	room := h.frames[h.n:][:n]
	h.n += n
	return room
}

// drop forgets what came before frame first.
func (h *history) drop(first int) {
	n := min(first-h.base, h.n)
	if n <= 0 {
		return
	}
	copy(h.frames, h.frames[n:h.n])
	h.base += n
	h.n -= n
}

// from is all that is held from frame first on.
func (h *history) from(first int) []dsp.Frame { return h.frames[first-h.base : h.n] }

// run fills out with the stream at places step apart, from the place at on,
// between its frames.
func (h *history) run(out []dsp.Frame, k *kernel, at, step float64) {
	k.run(out, h.frames[:h.n], at-float64(h.base), step)
}

// read is the stream at a place between its frames.
func (h *history) read(k *kernel, at float64) dsp.Frame {
	return k.read(h.frames[:h.n], at-float64(h.base))
}
