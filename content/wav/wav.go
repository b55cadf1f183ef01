// Package wav reads and writes WAV files: RIFF and RIFX, RF64 and BW64, with
// or without the chunks of Broadcast Wave.
//
// Sources: Microsoft and IBM, Multimedia Programming Interface and Data
// Specifications 1.0, 1991, chapter 3 "Waveform Audio File Format"; Microsoft,
// WAVEFORMATEXTENSIBLE; EBU Tech 3285, Specification of the Broadcast Wave
// Format; EBU Tech 3306, RF64; ITU-R BS.2088, BW64 (all from memory).
package wav

import (
	"errors"
	"fmt"
	"io"
	"math"

	"strop/content/chunk"
	"strop/content/linear"
	"strop/content/pcm"
)

var (
	errNotWAV   = errors.New("it is not a WAV file: open it under the name of its own format")
	errNoSound  = fmt.Errorf("it has no sound in it, only the head of a WAV file: %w", pcm.ErrTruncated)
	errNoFormat = fmt.Errorf("its sound is not described: %w", pcm.ErrDamaged)
)

// Open reads the headers of a WAV file from where r stands: 1 to 32 bits, 32-
// and 64-bit float, mono or stereo. A codec such as mu-law or ADPCM is a
// [pcm.Unsupported]. Where r cannot seek, as a pipe, it is read forwards.
//
// Sound whose size was never written, as in the output of a pipe or after a
// crash, goes on to the end of the file. For how a Source ends where a size is
// wrong or a sample is no number, see [linear.Sound.Source].
func Open(r io.ReadSeeker) (pcm.Source, error) {
	w := chunk.NewWalker(r, "fmt ", "data")
	form, err := w.Form()
	if err != nil {
		return nil, err
	}
	h := header{form: form, walker: w}
	if h.container() == "" || form.Kind != "WAVE" {
		return nil, errNotWAV
	}
	if err := h.toData(); err != nil {
		return nil, err
	}
	return h.sound()
}

// header is what stands before the sound.
type header struct {
	form   chunk.Form
	walker *chunk.Walker
	codec  *codec // nil until the format chunk was read
	data   chunk.Chunk
}

func (h *header) container() string {
	switch h.form.ID {
	case "RIFF", "RIFX":
		return "WAV"
	case "RF64", "BW64":
		return h.form.ID
	}
	return ""
}

// toData reads the chunks up to the one that holds the sound.
func (h *header) toData() error {
	for {
		c, err := h.walker.Next()
		switch {
		case err == io.EOF:
			return errNoSound
		case err != nil:
			return err
		case c.ID == "data" && h.codec == nil:
			return errNoFormat
		case c.ID == "data":
			h.data = c
			return nil
		case c.ID == "fmt ":
			err = h.readFormat()
		case c.ID == "ds64" && h.container() != "WAV":
			err = h.readSizes()
		}
		if err != nil {
			return err
		}
	}
}

func (h *header) readFormat() error {
	b, err := h.walker.Head(extensibleBytes)
	if err != nil {
		return err
	}
	c, err := parseCodec(b, h.walker.Order())
	h.codec = &c
	return err
}

// readSizes takes the sizes of 64 bits: of the file, the sound, the number of
// frames, then those of other chunks by name. Source: EBU Tech 3306, "ds64".
func (h *header) readSizes() error {
	const fixed, entry, most = 28, 12, 32
	b, err := h.walker.Head(fixed + most*entry)
	if err != nil {
		return err
	}
	if len(b) < fixed {
		return pcm.ErrDamaged
	}
	size := func(at int) int64 { return int64(min(h.walker.Order().Uint64(b[at:]), math.MaxInt64)) }
	h.walker.Large = map[string]int64{"data": size(8)}
	entries := b[fixed:min(len(b), fixed+entry*int(min(most, h.walker.Order().Uint32(b[24:]))))]
	for at := fixed; at+entry <= fixed+len(entries); at += entry {
		h.walker.Large[string(b[at:at+4])] = size(at + 4)
	}
	return nil
}

// sound is the data chunk. A size of 0 was never written, unless the form says
// that something follows.
func (h *header) sound() (pcm.Source, error) {
	c := h.codec
	rest, length := h.walker.Rest()
	s := linear.Sound{R: rest, In: &h.walker.In, Length: length, Size: h.data.Size, Layout: c.layout}
	if length >= 0 {
		s.Goto = func(at int64) error { return h.walker.Goto(h.data.At + at) }
	}
	if s.Size == 0 && (h.form.Size == chunk.Unset || 8+int64(h.form.Size) <= h.data.At) || s.Size == math.MaxInt64 {
		s.Size = -1
	}
	return s.Source(pcm.Format{Container: h.container(), Codec: c.name, RateHz: c.rateHz, Bits: c.bits})
}
