// Package mp3 reads MP3 files (MPEG-1 and MPEG-2, layer 3).
//
// The frames are found and checked here, the sound is decoded by
// github.com/hajimehoshi/go-mp3. That gives 16 bits and clips beyond full
// scale, so neither finer steps nor overshoot can be kept.
//
// An encoder begins with a delay and fills up its last frame. Where its tag
// says by how much (LAME and those that write its tag), both are taken off,
// and frame 0 and the length are those of what was encoded. Without that tag
// the sound begins some 1100 frames late and ends up to 3500 late, and nobody
// can know by how many.
package mp3

import (
	"bufio"
	"io"

	gomp3 "github.com/hajimehoshi/go-mp3"

	"strop/content/id3"
	"strop/content/pcm"
	"strop/dsp"
)

// decoderDelay is how many frames the decoder's filter bank is late: 528 and 1
// (LAME project, LAME Tag format).
const decoderDelay = 529

// Open reads the first frame of r from where it stands, behind an ID3v2 tag if
// there is one. The error is [ErrNone] if there are no MP3 frames, and a
// [pcm.Unsupported] for variants that are not read.
//
// The Source ends with an error where the data is damaged, and where the file
// ends within a frame or before the length that its tag states.
func Open(r io.ReadSeeker) (pcm.Source, error) {
	if err := id3.Skip(r); err != nil {
		return nil, err
	}
	d := &decoder{in: pcm.Input{R: r}}
	if _, err := pcm.Guard(d.begin); err != nil {
		if err == ErrNone && d.in.Err() == nil {
			return nil, ErrNone
		}
		return nil, d.explain(err)
	}
	return pcm.Blocks(d.format, d.next), nil
}

type decoder struct {
	in     pcm.Input
	frames frames
	dec    *gomp3.Decoder
	format pcm.Format
	skip   int64 // frames of sound still to be dropped at the start
	left   int64 // frames of sound still to be given
	raw    [4 * 1152]byte
	block  [1152]dsp.Frame
}

// begin finds the first frame, reads the tag, and starts the decoder.
func (d *decoder) begin() (struct{}, error) {
	var none struct{}
	d.frames.r = bufio.NewReaderSize(&d.in, 2*searchBytes)
	data, _ := d.frames.r.Peek(searchBytes)
	if len(data) >= 4 && freeFormat(data) {
		return none, pcm.Unsupported("an MP3 file of free format is not read: save it as WAV or FLAC")
	}
	at := find(data, func(header) bool { return true })
	if at < 0 {
		return none, ErrNone
	}
	data = data[at:]
	first := parseHeader(data)
	if err := ahead(data, first); err != nil {
		return none, err
	}
	tag, tagged := parseTag(data[:min(len(data), first.size())])
	if tagged {
		at += first.size()
	}
	if _, err := d.frames.r.Discard(at); err != nil {
		return none, err
	}
	d.frames.first, d.frames.max = first, tag.frames
	d.setFormat(first, tag)
	var err error
	d.dec, err = gomp3.NewDecoder(&d.frames)
	return none, err
}

// freeFormat tells a first frame that leaves its bit rate open.
func freeFormat(data []byte) bool {
	h := parseHeader(data)
	return h.bitrateIndex() == 0 && (h | 9<<12).valid() && h.layer() == 3
}

// ahead is the error of the first of the frames in data that cannot be
// decoded, so that Open tells of it rather than the Source later on.
func ahead(data []byte, first header) error {
	for len(data) >= 4 && first.like(parseHeader(data)) {
		h := parseHeader(data)
		if err := decodable(h); err != nil {
			return err
		}
		data = data[min(len(data), h.size()):]
	}
	return nil
}

func (d *decoder) setFormat(first header, tag infoTag) {
	d.format = pcm.Format{Container: "MP3", Codec: "MP3", RateHz: float64(first.rateHz()), Channels: first.channels(), Frames: -1}
	if tag.frames > 0 {
		d.format.Frames = int64(tag.frames) * int64(first.frames())
	}
	if tag.gapless {
		d.format.Frames -= int64(tag.delay + tag.padding)
		d.skip = int64(tag.delay + decoderDelay)
	}
	d.left = d.format.Frames
}

// next decodes at most one MPEG frame.
func (d *decoder) next() ([]dsp.Frame, error) {
	if d.left == 0 {
		return nil, io.EOF
	}
	n, err := io.ReadFull(d.dec, d.raw[:4*d.frames.first.frames()])
	block := d.trim(d.fill(d.raw[:n]))
	if err == nil {
		return block, nil
	}
	return block, d.explain(err)
}

func (d *decoder) explain(err error) error {
	if d.frames.err != nil {
		err = d.frames.err
	}
	if err == io.EOF && d.in.Err() == nil && d.dec != nil {
		return io.EOF
	}
	err = d.in.Explain(err)
	if err == pcm.ErrTruncated && d.left > 0 {
		return pcm.Truncated(d.format.Frames-d.left, d.format)
	}
	return err
}

// fill converts 16-bit samples, two to a frame.
func (d *decoder) fill(raw []byte) []dsp.Frame {
	n := len(raw) / 4
	for i := range n {
		l := int16(uint16(raw[4*i]) | uint16(raw[4*i+1])<<8)
		r := int16(uint16(raw[4*i+2]) | uint16(raw[4*i+3])<<8)
		d.block[i] = dsp.Frame{float64(l) / 32768, float64(r) / 32768}
	}
	return d.block[:n]
}

// trim drops what comes before the start and behind the stated length.
func (d *decoder) trim(block []dsp.Frame) []dsp.Frame {
	drop := min(d.skip, int64(len(block)))
	d.skip -= drop
	block = block[drop:]
	if d.left >= 0 {
		block = block[:min(d.left, int64(len(block)))]
		d.left -= int64(len(block))
	}
	return block
}
