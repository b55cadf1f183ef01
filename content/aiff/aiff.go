// Package aiff reads AIFF and AIFF-C files.
//
// Sources: Apple, Audio Interchange File Format "AIFF" 1.3, 1989; Apple, Audio
// Interchange File Format AIFF-C, draft of 1991; the sample formats beyond
// those documents, sowt to in32, as Apple's QuickTime File Format names them
// (all from memory).
package aiff

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"strop/content/chunk"
	"strop/content/linear"
	"strop/content/pcm"
)

var (
	errNotAIFF  = errors.New("it is not an AIFF file: open it under the name of its own format")
	errNoSound  = fmt.Errorf("it has no sound in it, only the head of an AIFF file: %w", pcm.ErrTruncated)
	errNoFormat = fmt.Errorf("its sound is not described: %w", pcm.ErrDamaged)
)

// Open reads the headers of an AIFF or AIFF-C file from where r stands: 1 to
// 32 bits of either byte order, 32- and 64-bit float, mono or stereo.
// Compressed sound is a [pcm.Unsupported]. Where r cannot seek, as a pipe, it
// is read forwards; the description must then come before the sound.
//
// Sound whose size was never written goes on to the end of the file. For how a
// Source ends where a size is wrong or a sample is no number, see
// [linear.Sound.Source].
func Open(r io.ReadSeeker) (pcm.Source, error) {
	w := chunk.NewWalker(r, "COMM", "SSND")
	form, err := w.Form()
	if err != nil {
		return nil, err
	}
	if form.ID != "FORM" || form.Kind != "AIFF" && form.Kind != "AIFC" {
		return nil, errNotAIFF
	}
	h := header{form: form, walker: w}
	if err := h.find(); err != nil {
		return nil, err
	}
	return h.sound()
}

// header is what stands around the sound.
type header struct {
	form   chunk.Form
	walker *chunk.Walker
	common *common     // nil until it was read
	ssnd   chunk.Chunk // without a name until it was met
	offset int64       // of the first frame in ssnd
}

// find reads chunks, which may come in any order, until both that are needed
// were met. It leaves the walker at the first frame.
func (h *header) find() error {
	for h.common == nil || h.ssnd.ID == "" {
		c, err := h.walker.Next()
		switch {
		case err == io.EOF:
			return h.missing()
		case err != nil:
			return err
		case c.ID == "COMM" && h.common == nil:
			err = h.readCommon()
		case c.ID == "SSND" && h.ssnd.ID == "":
			err = h.readOffset(c)
		}
		if err != nil {
			return err
		}
	}
	return h.walker.Goto(h.ssnd.At + h.offset)
}

func (h *header) missing() error {
	if h.common == nil && h.ssnd.ID != "" {
		return errNoFormat
	}
	return errNoSound
}

func (h *header) readCommon() error {
	b, err := h.walker.Head(commonBytes)
	if err != nil {
		return err
	}
	c, err := parseCommon(b, h.form.Kind)
	h.common = &c
	return err
}

// readOffset reads the head of the sound: the offset of its first frame, and
// the size of blocks it is aligned to, which is of no use here.
func (h *header) readOffset(c chunk.Chunk) error {
	if c.Size < soundHead {
		h.ssnd, h.offset = c, soundHead
		return nil
	}
	b, err := h.walker.Head(soundHead)
	if err != nil {
		return err
	}
	h.ssnd, h.offset = c, soundHead+int64(binary.BigEndian.Uint32(b))
	return nil
}

const soundHead = 8

// sound is what follows in the sound chunk. It is as long as the common chunk
// says, but does not go beyond its own chunk.
func (h *header) sound() (pcm.Source, error) {
	c := h.common
	rest, length := h.walker.Rest()
	s := linear.Sound{
		R: rest, In: &h.walker.In, Length: length, Layout: c.layout,
		Size: max(h.ssnd.Size-h.offset, 0), Frames: c.frames,
	}
	if length >= 0 {
		s.Goto = func(at int64) error { return h.walker.Goto(h.ssnd.At + h.offset + at) }
	}
	if h.unwritten() {
		s.Size = -1
		if c.frames > 0 {
			s.Size = c.frames * int64(c.layout.FrameBytes())
		}
	}
	return s.Source(pcm.Format{Container: h.form.Kind, Codec: c.name, RateHz: c.rateHz, Bits: c.bits})
}

// unwritten tells whether the size of the sound was never written: it is that
// of nothing, and yet the common chunk counts frames, or the form says that it
// ends here.
func (h *header) unwritten() bool {
	return h.ssnd.Size <= soundHead && (h.common.frames > 0 || 8+int64(h.form.Size) <= h.ssnd.At+soundHead)
}

// extended is a float of 80 bits, highest byte first: sign and exponent, then
// 64 bits of mantissa with the 1 before the point. It is rounded to 53 bits.
// Source: IEEE 754-1985, double extended; AIFF 1.3, "Data types".
func extended(b []byte) float64 {
	head := binary.BigEndian.Uint16(b)
	v := math.Ldexp(float64(binary.BigEndian.Uint64(b[2:])), int(head&0x7fff)-16383-63)
	if head&0x7fff == 0x7fff {
		v = math.NaN()
	}
	if head&0x8000 != 0 {
		v = -v
	}
	return v
}
