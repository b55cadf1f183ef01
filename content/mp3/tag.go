package mp3

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// An infoTag is what the first frame of a file says, if it holds no sound but
// an index.
type infoTag struct {
	frames  int // MPEG frames after this one; 0 if it does not say
	gapless bool
	delay   int // frames of sound that the encoder put before the first
	padding int // and after the last
}

// parseTag reads the tag of the first frame of a file.
//
// Source: the LAME project, LAME Tag format, revision 1, 2001, which describes
// the fields of its forerunner, the Xing tag, as well; the place of VBRI, 32
// bytes behind the header, is common practice, no source.
func parseTag(frame []byte) (tag infoTag, ok bool) {
	h := parseHeader(frame)
	if bytes.HasPrefix(from(frame, 4+32), []byte("VBRI")) {
		return infoTag{frames: int(uint32At(frame, 4+32+14))}, true
	}
	body := from(frame, 4+h.sideBytes())
	if !bytes.HasPrefix(body, []byte("Xing")) && !bytes.HasPrefix(body, []byte("Info")) {
		return tag, false
	}
	flags, at := uint32At(body, 4), 8
	if flags&1 != 0 {
		tag.frames = int(uint32At(body, at))
	}
	for i, n := range [...]int{4, 4, 100, 4} { // frames, bytes, table, quality
		if flags>>i&1 != 0 {
			at += n
		}
	}
	lame := from(body, at)
	if len(lame) >= 24 && slices.Contains([]string{"LAME", "Lavf", "Lavc"}, string(lame[:4])) {
		both := int(lame[21])<<16 | int(lame[22])<<8 | int(lame[23])
		tag.delay, tag.padding = both>>12, both&0xfff
		tag.gapless = tag.frames > 0 && tag.delay+tag.padding < tag.frames*h.frames()
	}
	return tag, true
}

// from is data from byte at on, empty where there is none.
func from(data []byte, at int) []byte { return data[min(at, len(data)):] }

// uint32At is the number at byte at, 0 where there is none.
func uint32At(data []byte, at int) uint32 {
	if rest := from(data, at); len(rest) >= 4 {
		return binary.BigEndian.Uint32(rest)
	}
	return 0
}
