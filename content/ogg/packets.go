package ogg

import (
	"bufio"
	"bytes"
	"cmp"
	"io"

	"strop/content/pcm"
)

// errChained is told once the first of several recordings has been given.
const errChained = pcm.Unsupported("it holds several recordings one after the other, and only the first is read: save them as one")

// packets takes one logical stream out of the pages of a file.
type packets struct {
	r       *bufio.Reader // at least maxBytes large
	serial  uint32
	next    uint32 // sequence number of the next page
	partial []byte // what is there of a packet that the next page continues
	begun   bool   // a page after the first was read
	ended   bool   // the last page was read
}

// read is the next page of whichever stream, valid until the call after. It is
// io.EOF where the file ends between two pages.
func (ps *packets) read() (page, error) {
	data, ioErr := ps.r.Peek(maxBytes)
	if len(data) == 0 {
		return page{}, ioErr
	}
	p, size, err := parsePage(data)
	if err != nil {
		return page{}, err
	}
	_, err = ps.r.Discard(size)
	return p, err
}

// page is the packets that end on the next page of the stream, and that page;
// they are valid until the call after. Pages on which no packet ends, and
// those of other streams, are passed over.
func (ps *packets) page() (list [][]byte, p page, err error) {
	for len(list) == 0 {
		if p, err = ps.own(); err != nil {
			return nil, p, err
		}
		list = ps.split(p)
	}
	return list, p, nil
}

// own is the next page of the stream.
func (ps *packets) own() (page, error) {
	for {
		p, err := ps.read()
		switch {
		case err == io.EOF && len(ps.partial) > 0:
			return p, pcm.ErrTruncated
		case err != nil && ps.ended:
			return p, io.EOF // what is behind the last page is no page: an old tag
		case err != nil:
			return p, err
		case p.flags&flagFirst != 0 && (ps.begun || ps.ended):
			return p, errChained
		case p.serial != ps.serial || ps.ended:
			continue
		case p.sequence != ps.next || (p.flags&flagContinued != 0) != (len(ps.partial) > 0):
			return p, pcm.ErrDamaged // pages are missing
		}
		ps.next, ps.begun, ps.ended = p.sequence+1, true, p.flags&flagLast != 0
		return p, nil
	}
}

// split is the packets that end on p. What is left is kept for the next page.
func (ps *packets) split(p page) (list [][]byte) {
	from, to := 0, 0
	for _, n := range p.lacing {
		to += int(n)
		if n == 255 {
			continue
		}
		packet := p.body[from:to]
		if len(ps.partial) > 0 {
			packet = append(ps.partial, packet...)
			ps.partial = nil
		}
		list, from = append(list, packet), to
	}
	ps.partial = append(ps.partial, p.body[from:]...)
	return list
}

// headers is the n packets after the first. They fill whole pages: the sound
// begins on a page of its own.
func (ps *packets) headers(n int) ([][]byte, error) {
	var all [][]byte
	for len(all) < n {
		list, _, err := ps.page()
		if err != nil {
			return nil, err
		}
		for _, packet := range list {
			all = append(all, bytes.Clone(packet))
		}
	}
	if len(all) > n {
		return nil, pcm.ErrDamaged
	}
	return all, nil
}

// pick finds the first stream of the file that is Vorbis or Opus, and is its
// first packet. Streams of other kinds may lie beside it. Without any it is a
// [pcm.Unsupported].
func (ps *packets) pick() ([]byte, error) {
	other := ""
	for {
		p, err := ps.read()
		if err != nil {
			return nil, err
		}
		if p.flags&flagFirst == 0 {
			return nil, pcm.Unsupported("an Ogg file of " + cmp.Or(other, "an unknown kind") + " is not read: save it as WAV or FLAC")
		}
		kind := kindOf(p.body)
		if kind == vorbisKind || kind == opusKind {
			ps.serial, ps.next = p.serial, p.sequence+1
			return bytes.Clone(p.body), nil
		}
		other = cmp.Or(other, kind)
	}
}

const (
	vorbisKind = "Vorbis"
	opusKind   = "Opus"
)

// kindOf tells a stream by how its first packet begins.
func kindOf(packet []byte) string {
	for _, k := range [...]struct{ start, kind string }{
		{"\x01vorbis", vorbisKind}, {"OpusHead", opusKind}, {"\x7fFLAC", "FLAC"}, {"Speex   ", "Speex"}, {"\x80theora", "video"},
	} {
		if bytes.HasPrefix(packet, []byte(k.start)) {
			return k.kind
		}
	}
	return ""
}
