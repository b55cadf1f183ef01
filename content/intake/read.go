package intake

import (
	"context"
	"errors"

	"strop/content"
	"strop/content/pcm"
	"strop/dsp"
)

// source is a stem that is read from its start to its end.
type source struct {
	format pcm.Format
	read   func(dst []dsp.Frame) (n int, err error) // fewer than asked for at the end
	close  func() error
}

// open opens a stem at its own rate: its file, or a region of a demo song
// after the other.
func (c *check) open(ctx context.Context, i int) (*source, error) {
	s := c.sheet.Stems[i]
	if s.Path == "" {
		return c.openDemo(ctx, i), nil
	}
	file, err := content.Open(s.Path)
	if err != nil {
		return nil, err
	}
	return &source{format: file.Format(), close: file.Close, read: func(dst []dsp.Frame) (int, error) {
		n := 0
		for n < len(dst) {
			if err := ctx.Err(); err != nil {
				return n, err
			}
			got, ok := file.Stream(dst[n:min(len(dst), n+1<<14)])
			if n += got; !ok {
				return n, file.Err()
			}
		}
		return n, nil
	}}, nil
}

func (c *check) openDemo(ctx context.Context, i int) *source {
	s, at := c.sheet.Stems[i], int64(0)
	format := pcm.Format{Container: "built in", Codec: "rendered", RateHz: c.sheet.RateHz, Channels: s.Channels, Bits: s.Bits, Frames: c.sheet.Frames}
	return &source{format: format, close: func() error { return nil }, read: func(dst []dsp.Frame) (int, error) {
		n := int(min(int64(len(dst)), c.sheet.Frames-at))
		if n <= 0 {
			return 0, nil
		}
		frames, err := c.m.Region(ctx, i, at, n)
		at += int64(n)
		return copy(dst, frames), err
	}}
}

// The stretches in which a stem is looked at.
const (
	stretchS = 20.0
	besideS  = 0.5 // that are seen on either side of it, and not counted
)

// stretch is a part of a stem with what lies beside it.
type stretch struct {
	frames   []dsp.Frame
	start    int64 // of frames in the stem
	from, to int   // the part that counts, of frames
	number   int   // from 0
}

// inside reports whether a frame of the stretch counts.
func (s stretch) inside(frame int) bool { return frame >= s.from && frame < s.to }

// core is the part that counts.
func (s stretch) core() []dsp.Frame { return s.frames[s.from:s.to] }

// eachStretch reads a stem to its end. Each frame counts in one stretch.
func eachStretch(src *source, do func(stretch)) (err error) {
	length, beside := int(stretchS*src.format.RateHz), int(besideS*src.format.RateHz)
	buf := make([]dsp.Frame, length+2*beside)
	kept, start, from := 0, int64(0), 0 // frames that are there already; of the first of them; that count from
	for number := 0; ; number++ {
		n, readErr := src.read(buf[kept:])
		n += kept
		last := n < len(buf)
		to := n
		if !last {
			to = from + length
		}
		if to > from {
			do(stretch{buf[:n], start, from, to, number})
		}
		if last || readErr != nil {
			return errors.Join(err, readErr)
		}
		kept = copy(buf, buf[to-beside:n])
		start += int64(to - beside)
		from = beside
	}
}
