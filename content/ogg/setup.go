package ogg

import (
	"math/bits"

	"strop/content/pcm"
)

// What the codebooks of a stream may claim. The encoders in use stay far below:
// the largest book of libvorbis has 6561 entries.
const (
	maxEntries = 1 << 14 // of one book
	maxValues  = 1 << 20 // of all books together
)

const errSetup = pcm.Unsupported("its Vorbis headers are of a kind that is not read: save it as WAV or FLAC")

// checkSetup walks the setup header of a Vorbis stream as far as its residues.
//
// It is there because the decoder believes it: a few bytes that claim a huge
// or a leaky codebook, or a residue that ends before it begins, make it take
// gigabytes or loop for ever, which no recover can undo.
//
// Source: Xiph.Org, Vorbis I specification, 2020, sections 3.2.1, 7.2.2, 8.6.1.
func checkSetup(packet []byte) error {
	if len(packet) < 7 || string(packet[:7]) != "\x05vorbis" {
		return pcm.ErrDamaged
	}
	s := &setup{bits: bitReader{data: packet[7:]}}
	s.each(8, s.codebook)
	s.each(6, func() { s.require(s.bits.read(16) == 0) })
	s.each(6, s.floor)
	s.each(6, s.residue)
	if s.bits.past {
		return pcm.ErrDamaged
	}
	return s.err
}

type setup struct {
	bits   bitReader
	values int
	err    error
}

// each calls f as often as a field of n bits says, plus one, until an error.
func (s *setup) each(n uint, f func()) {
	for range s.bits.read(n) + 1 {
		if s.err != nil || s.bits.past {
			return
		}
		f()
	}
}

func (s *setup) require(ok bool) {
	if !ok && s.err == nil {
		s.err = errSetup
	}
}

func (s *setup) codebook() {
	s.require(s.bits.read(24) == 0x564342)
	dimensions, entries := int(s.bits.read(16)), int(s.bits.read(24))
	s.values += dimensions * entries
	s.require(dimensions > 0 && entries > 1 && entries <= maxEntries && s.values <= maxValues)
	if s.err != nil {
		return
	}
	s.lengths(entries)
	switch s.bits.read(4) {
	case 0:
	case 1:
		s.lookup(lookup1Values(entries, dimensions))
	case 2:
		s.lookup(dimensions * entries)
	default:
		s.require(false)
	}
}

// lengths reads the lengths of the code words, which must fill a tree exactly:
// by Kraft's equation the sum of 2^-length is 1.
func (s *setup) lengths(entries int) {
	kraft := uint64(0) // in units of 2^-32
	if s.bits.read(1) == 1 {
		length := s.bits.read(5) + 1
		for left := entries; left > 0 && !s.bits.past; length++ {
			n := int(s.bits.read(uint(bits.Len(uint(left)))))
			s.require(n <= left && length <= 32)
			if s.err != nil {
				return
			}
			kraft += uint64(n) << (32 - length)
			left -= n
		}
	} else {
		sparse := s.bits.read(1) == 1
		for range entries {
			if !sparse || s.bits.read(1) == 1 {
				kraft += 1 << (31 - s.bits.read(5))
			}
		}
	}
	s.require(kraft == 1<<32)
}

// lookup passes over a table of n values.
func (s *setup) lookup(n int) {
	s.bits.skip(64)
	width := uint(s.bits.read(4)) + 1
	s.bits.skip(1 + n*int(width))
}

// lookup1Values is the greatest integer whose power of dimensions is at most
// entries (section 9.2.3).
func lookup1Values(entries, dimensions int) int {
	for v := 1; ; v++ {
		power := 1
		for range dimensions {
			if power *= v + 1; power > entries {
				return v
			}
		}
	}
}

// floor reads a floor of type 1; no encoder has written the other for long.
func (s *setup) floor() {
	s.require(s.bits.read(16) == 1)
	classes := make([]int, s.bits.read(5))
	greatest := 0
	for i := range classes {
		classes[i] = int(s.bits.read(4))
		greatest = max(greatest, classes[i])
	}
	var dimensions [16]int
	for i := range greatest + 1 {
		dimensions[i] = int(s.bits.read(3)) + 1
		subclasses := s.bits.read(2)
		if subclasses > 0 {
			s.bits.skip(8)
		}
		s.bits.skip(8 << subclasses)
	}
	s.bits.skip(2)
	width := int(s.bits.read(4))
	for _, class := range classes {
		s.bits.skip(width * dimensions[class])
	}
}

func (s *setup) residue() {
	s.require(s.bits.read(16) <= 2)
	begin, end := s.bits.read(24), s.bits.read(24)
	s.require(begin <= end)
	s.bits.skip(24)
	cascades := make([]uint32, s.bits.read(6)+1)
	s.bits.skip(8)
	for i := range cascades {
		cascades[i] = s.bits.read(3)
		if s.bits.read(1) == 1 {
			cascades[i] |= s.bits.read(5) << 3
		}
	}
	for _, c := range cascades {
		s.bits.skip(8 * bits.OnesCount32(c))
	}
}

// bitReader reads the lowest bit of each byte first (section 2.1.4).
type bitReader struct {
	data []byte
	at   int  // in bits
	past bool // more was asked for than there is
}

func (b *bitReader) skip(n int) {
	b.at += n
	b.past = b.past || b.at > 8*len(b.data)
}

func (b *bitReader) read(n uint) (v uint32) {
	from := b.at
	if b.skip(int(n)); b.past {
		return 0
	}
	for i := range int(n) {
		bit := b.data[(from+i)/8] >> ((from + i) % 8) & 1
		v |= uint32(bit) << i
	}
	return v
}
