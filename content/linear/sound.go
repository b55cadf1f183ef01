package linear

import (
	"fmt"
	"io"
	"math"

	"strop/content/pcm"
	"strop/dsp"
)

// Sound is where the samples of a file are, and what its headers say of them.
type Sound struct {
	R      io.Reader  // stands at the first sample
	In     *pcm.Input // what R reads from
	Length int64      // bytes to the end of the file; negative where it cannot be told
	Size   int64      // bytes of sound as stated; negative where that was never written
	Frames int64      // as stated in another place; 0 where there is none
	Layout Layout

	// Goto makes R stand at a byte of the sound; nil where R cannot go back.
	Goto func(at int64) error
}

// open tells whether the size is only what a program writes that cannot go
// back to correct it, and the end of the file is the end of the sound. Such
// programs write a size near the greatest of 31 or 32 bits, rounded down in
// some way: just below 0x7F000000 and 0x7FFFF000 by sox, 0xFFFFFFFF by ffmpeg.
func (s Sound) open() bool {
	near := s.Size >= 0x7eff0000 && s.Size <= 1<<31 || s.Size >= 0xffff0000 && s.Size <= 1<<32
	return s.Size < 0 || near && (s.Length < 0 || s.Size > s.Length)
}

// expected is the frames after which the sound ends, and those whose absence
// is an error.
func (s Sound) expected() (most, least int64) {
	size := int64(s.Layout.FrameBytes())
	most = s.Size / size
	switch {
	case s.Size < 0:
		return math.MaxInt64, 0
	case s.open():
		return most, 0
	case s.Frames > 0:
		return min(most, s.Frames), s.Frames
	}
	return most, most
}

// known is the frames that will come, -1 where that cannot be told.
func (s Sound) known() int64 {
	most, _ := s.expected()
	switch {
	case s.Length >= 0:
		return min(most, s.Length/int64(s.Layout.FrameBytes()))
	case s.open():
		return -1
	}
	return most
}

// Source is the sound. Of f it uses what is not in s: the container, the
// codec, the bits and the rate, which is checked.
//
// The file ends in a [pcm.ErrTruncated], after all that is there, if it is
// shorter than stated; a stated size may also be unknown, see open. A frame
// that is not complete at the end of the file is left out. A float that is no
// finite number ends it in a [pcm.ErrDamaged]: whatever wrote it was broken,
// and nothing could be played instead of it. It allocates 32 KiB. With a Goto
// it is a [pcm.Seeker].
func (s Sound) Source(f pcm.Format) (pcm.Source, error) {
	if !(f.RateHz >= dsp.MinRateHz && f.RateHz <= dsp.MaxRateHz) {
		return nil, fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", f.RateHz, dsp.MinRateHz, dsp.MaxRateHz)
	}
	if err := pcm.CheckChannels(s.Layout.Channels); err != nil {
		return nil, err
	}
	unpack := s.Layout.unpacker()
	if unpack == nil {
		return nil, pcm.Unsupported(fmt.Sprintf("samples of %d bits are not read: save it with 24 bits, or as 32-bit float", f.Bits))
	}
	f.Channels, f.Frames = s.Layout.Channels, s.known()
	src := &source{sound: s, format: f, unpack: unpack, step: s.Layout.FrameBytes(), buf: make([]byte, 1<<15)}
	src.left, src.least = s.expected()
	if s.Layout.Channels == 2 {
		src.right = s.Layout.Bytes
	}
	if s.Goto != nil {
		return &seeker{src}, nil
	}
	return src, nil
}

// seeker is a source whose file can go back.
type seeker struct{ *source }

var _ pcm.Seeker = (*seeker)(nil)

func (s *seeker) SeekFrame(frame int64) error {
	most, _ := s.sound.expected()
	frame = min(frame, most)
	if known := s.sound.known(); known >= 0 {
		frame = min(frame, known)
	}
	if err := s.sound.Goto(frame * int64(s.step)); err != nil {
		s.rest, s.ended, s.err = nil, true, err
		return err
	}
	s.rest, s.done, s.left, s.ended, s.err = nil, frame, most-frame, most == frame, nil
	return nil
}

type source struct {
	sound       Sound
	format      pcm.Format
	unpack      unpack
	step, right int
	left        int64 // frames that may still be read
	least       int64 // frames that should come, in all
	done        int64 // frames given
	buf, rest   []byte
	ended       bool
	err         error
}

func (s *source) Format() pcm.Format { return s.format }

// Err is nil as long as there are frames left from before the error.
func (s *source) Err() error {
	if len(s.rest) > 0 {
		return nil
	}
	return s.err
}

func (s *source) Stream(buf []dsp.Frame) (n int, ok bool) {
	for n < len(buf) && (len(s.rest) > 0 || s.fill()) {
		got := s.take(buf[n:])
		n += got
		s.done += int64(got)
	}
	return n, n > 0
}

// take decodes what fits into buf of what is in memory.
func (s *source) take(buf []dsp.Frame) int {
	n := min(len(buf), len(s.rest)/s.step)
	s.unpack(buf[:n], s.rest, s.step, s.right)
	s.rest = s.rest[n*s.step:]
	if !s.sound.Layout.Float {
		return n
	}
	good := finite(buf[:n])
	if good < n {
		s.rest, s.ended, s.err = nil, true, errNotFinite
	}
	return good
}

var errNotFinite = fmt.Errorf("a sample is not a number: %w", pcm.ErrDamaged)

// fill reads the next bytes, of whole frames, and tells whether there are any.
func (s *source) fill() bool {
	if s.ended {
		return false
	}
	n := int(min(int64(len(s.buf)/s.step), s.left))
	got, err := io.ReadFull(s.sound.R, s.buf[:n*s.step])
	n = got / s.step
	s.left -= int64(n)
	s.rest = s.buf[:n*s.step]
	if s.sound.Layout.BigEndian {
		turn(s.rest, s.sound.Layout.Bytes)
	}
	if err != nil || s.left == 0 {
		s.ended, s.err = true, s.ending(err, s.done+int64(n))
	}
	return n > 0
}

// ending is what there is to say after the last of n frames, with the error of
// the read.
func (s *source) ending(err error, n int64) error {
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return s.sound.In.Explain(err)
	}
	if n >= s.least {
		return nil
	}
	stated := s.format
	stated.Frames = s.least
	return pcm.Truncated(n, stated)
}
