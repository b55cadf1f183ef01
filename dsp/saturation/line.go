package saturation

import "strop/dsp"

// line is a stretch of signal: what is remembered, then what has just come.
type line struct {
	frames []dsp.Frame
	keep   int // frames remembered
}

// newLine remembers keep frames and takes up to most at a time.
func newLine(keep, most int) line { return line{make([]dsp.Frame, keep+most), keep} }

// enter appends src and returns the whole line, the oldest frame first.
func (l *line) enter(src []dsp.Frame) []dsp.Frame {
	n := copy(l.frames[l.keep:], src)
	return l.frames[:l.keep+n]
}

// leave forgets the n oldest frames.
func (l *line) leave(n int) { copy(l.frames[:l.keep], l.frames[n:]) }

func (l *line) reset() { clear(l.frames) }
