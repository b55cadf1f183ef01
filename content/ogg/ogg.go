// Package ogg reads Ogg files of Vorbis or Opus sound in one or two channels.
//
// The pages are read here, because both codecs need them, and because the trim
// at either end is stated by the pages. The packets are decoded by
// github.com/jfreymuth/vorbis and github.com/pion/opus. Samples beyond full
// scale are kept.
//
// Source: Pfeiffer, The Ogg Encapsulation Format Version 0, RFC 3533, 2003;
// Xiph.Org, Vorbis I specification, 2020, appendix A; Terriberry, Lee and
// Giles, Ogg Encapsulation for the Opus Audio Codec, RFC 7845, 2016.
package ogg

import (
	"bufio"
	"bytes"
	"io"

	"strop/content/pcm"
	"strop/dsp"
)

// Open reads the headers and the first page of sound of r from where it
// stands, and looks at its last page for the length. Files of more than two
// channels are refused; those of another codec are a [pcm.Unsupported].
//
// The Source ends with an error where the file is damaged or cut within a
// page, where pages are missing, and before a second recording in one file.
func Open(r io.ReadSeeker) (pcm.Source, error) {
	d := &decoder{in: pcm.Input{R: r}}
	d.packets.r = bufio.NewReaderSize(&d.in, 2*maxBytes)
	if _, err := pcm.Guard(d.readHeaders); err != nil {
		return nil, d.in.Explain(err)
	}
	if err := pcm.CheckChannels(d.format.Channels); err != nil {
		return nil, err
	}
	first, err := pcm.Guard(d.readPage)
	if err != nil && (err != io.EOF || d.in.Err() != nil) {
		return nil, d.in.Explain(err)
	}
	last, err := lastGranule(r, d.packets.serial)
	if err != nil {
		return nil, err
	}
	d.format.Frames = max(-1, last-d.startGranule)
	return pcm.Blocks(d.format, d.next(first)), nil
}

// A codec decodes packets.
type codec interface {
	// decode appends the frames of one packet to dst.
	decode(dst []dsp.Frame, packet []byte) ([]dsp.Frame, error)
}

type decoder struct {
	in      pcm.Input
	packets packets
	codec   codec
	format  pcm.Format
	block   []dsp.Frame
	skip    int64 // frames still to be dropped at the start

	started      bool
	granule      int64 // frames decoded so far, as the granule positions count them
	startGranule int64 // of the first frame that is heard
}

func (d *decoder) readHeaders() (struct{}, error) {
	first, err := d.packets.pick()
	if err != nil {
		return struct{}{}, err
	}
	if kindOf(first) == vorbisKind {
		return struct{}{}, d.openVorbis(first)
	}
	return struct{}{}, d.openOpus(first)
}

// next is what [pcm.Blocks] calls: first, then the pages after it.
func (d *decoder) next(first []dsp.Frame) func() ([]dsp.Frame, error) {
	given := false
	return func() ([]dsp.Frame, error) {
		if !given {
			given = true
			return first, nil
		}
		block, err := d.readPage()
		if err == io.EOF && d.in.Err() == nil {
			return nil, io.EOF
		}
		return block, d.in.Explain(err)
	}
}

// readPage decodes the packets that end on the next page, and trims them.
func (d *decoder) readPage() ([]dsp.Frame, error) {
	list, p, err := d.packets.page()
	if err != nil {
		return nil, err
	}
	d.block = d.block[:0]
	for _, packet := range list {
		if d.block, err = d.codec.decode(d.block, packet); err != nil {
			return nil, err
		}
	}
	return d.trim(p), nil
}

// trim takes from the block of page p what its granule position takes back.
//
// On the first page, a position below the number of frames drops the first
// ones of them, and one above it means that the recording was cut out of a
// longer one. On the last page, a position below that number drops the last
// ones.
func (d *decoder) trim(p page) []dsp.Frame {
	block, last := d.block, p.flags&flagLast != 0
	d.granule += int64(len(block))
	if p.granule < 0 {
		return block // a position that a page without the end of a packet should have
	}
	if !d.started {
		d.started = true
		if !last || p.granule > d.granule {
			d.skip += max(0, d.granule-p.granule)
			d.startGranule += max(0, p.granule-d.granule)
			d.granule = p.granule
		}
	}
	if extra := d.granule - p.granule; last && extra > 0 {
		block = block[:max(0, int64(len(block))-extra)]
	}
	drop := min(d.skip, int64(len(block)))
	d.skip -= drop
	return block[drop:]
}

// lastGranule is the granule position of the last whole page of a stream, -1
// if none is near the end of the file. It leaves r where it was.
func lastGranule(r io.ReadSeeker, serial uint32) (int64, error) {
	here, err := r.Seek(0, io.SeekCurrent)
	if err != nil {
		return 0, err
	}
	end, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, err
	}
	tail := make([]byte, min(end, 2*maxBytes))
	if _, err = r.Seek(end-int64(len(tail)), io.SeekStart); err != nil {
		return 0, err
	}
	if _, err = io.ReadFull(r, tail); err != nil {
		return 0, err
	}
	_, err = r.Seek(here, io.SeekStart)
	return granuleIn(tail, serial), err
}

func granuleIn(tail []byte, serial uint32) int64 {
	for at := len(tail); ; {
		at = bytes.LastIndex(tail[:at], []byte("OggS"))
		if at < 0 {
			return -1
		}
		if p, _, err := parsePage(tail[at:]); err == nil && p.serial == serial && p.granule >= 0 {
			return p.granule
		}
	}
}
