package pcm

import "io"

// Blocks makes a Source of a codec that gives its sound a block at a time.
// Next returns the frames of the next block, which stay its own and may be
// overwritten by the call after; none of them is fine. The error io.EOF is the
// end, any other is what Err tells. Frames that come with an error are given
// first. A frame that is no finite number counts as ErrDamaged.
//
// A panic in next counts as ErrDamaged. That is for decoders of others, which
// may index out of range on hostile data: such a panic is theirs, about the
// file, and leaves nothing locked; the decoder is not called again.
func Blocks(f Format, next func() ([][2]float64, error)) Source {
	return &blocks{format: f, next: next}
}

// SeekableBlocks is Blocks of a codec that can go on from any frame: after a
// call of seek the blocks of next begin there.
func SeekableBlocks(f Format, next func() ([][2]float64, error), seek func(frame int64) error) Seeker {
	return &seekableBlocks{blocks{format: f, next: next}, seek}
}

type seekableBlocks struct {
	blocks
	seek func(frame int64) error
}

func (b *seekableBlocks) SeekFrame(frame int64) error {
	b.rest = nil
	_, b.err = Guard(func() (struct{}, error) { return struct{}{}, b.seek(frame) })
	return b.err
}

type blocks struct {
	format Format
	next   func() ([][2]float64, error)
	rest   [][2]float64
	err    error // io.EOF at the end
}

func (b *blocks) Format() Format { return b.format }

func (b *blocks) Err() error {
	if b.err == io.EOF {
		return nil
	}
	return b.err
}

func (b *blocks) Stream(buf [][2]float64) (n int, ok bool) {
	for n < len(buf) {
		if len(b.rest) == 0 {
			if b.err != nil {
				break
			}
			b.fetch()
			continue
		}
		got := copy(buf[n:], b.rest)
		b.rest = b.rest[got:]
		n += got
	}
	return n, n > 0
}

func (b *blocks) fetch() {
	b.rest, b.err = Guard(b.next)
	if n := finite(b.rest); n < len(b.rest) {
		b.rest, b.err = b.rest[:n], ErrDamaged
	}
}

// finite is how many frames come before the first that is no finite number.
func finite(frames [][2]float64) int {
	for i, f := range frames {
		if f[0]-f[0] != 0 || f[1]-f[1] != 0 {
			return i
		}
	}
	return len(frames)
}

// Guard calls f, and returns ErrDamaged if it panics. See [Blocks] for why.
func Guard[T any](f func() (T, error)) (v T, err error) {
	defer func() {
		if recover() != nil {
			err = ErrDamaged
		}
	}()
	return f()
}
