package ogg

import (
	"encoding/binary"
	"io"

	"strop/content/pcm"
)

// The header of a page. Source: Pfeiffer, The Ogg Encapsulation Format Version
// 0, RFC 3533, 2003, section 6.
const (
	headBytes = 27
	maxBytes  = headBytes + 255 + 255*255 // of a whole page

	flagContinued = 1
	flagFirst     = 2
	flagLast      = 4
)

type page struct {
	flags    byte
	granule  int64
	serial   uint32
	sequence uint32
	lacing   []byte
	body     []byte
}

// parsePage reads the page that data begins with, and its size. It is an error
// of io.ErrUnexpectedEOF if data ends within it.
func parsePage(data []byte) (p page, size int, err error) {
	if len(data) < headBytes {
		return p, 0, io.ErrUnexpectedEOF
	}
	if string(data[:5]) != "OggS\x00" {
		return p, 0, pcm.ErrDamaged
	}
	bodyAt := headBytes + int(data[26])
	if len(data) < bodyAt {
		return p, 0, io.ErrUnexpectedEOF
	}
	size = bodyAt
	for _, n := range data[headBytes:bodyAt] {
		size += int(n)
	}
	if len(data) < size {
		return p, 0, io.ErrUnexpectedEOF
	}
	if checksum(data[:size]) != binary.LittleEndian.Uint32(data[22:]) {
		return p, 0, pcm.ErrDamaged
	}
	return page{
		flags:    data[5],
		granule:  int64(binary.LittleEndian.Uint64(data[6:])),
		serial:   binary.LittleEndian.Uint32(data[14:]),
		sequence: binary.LittleEndian.Uint32(data[18:]),
		lacing:   data[headBytes:bodyAt],
		body:     data[bodyAt:size],
	}, size, nil
}

var crcTable = makeTable()

// makeTable is the remainders of the polynomial 0x04c11db7, highest bit first.
func makeTable() (table [256]uint32) {
	for i := range table {
		r := uint32(i) << 24
		for range 8 {
			r = r<<1 ^ 0x04c11db7*(r>>31)
		}
		table[i] = r
	}
	return table
}

// checksum is that of a page, whose own four bytes count as zero.
func checksum(page []byte) uint32 {
	var crc uint32
	for i, b := range page {
		if i >= 22 && i < 26 {
			b = 0
		}
		crc = crc<<8 ^ crcTable[byte(crc>>24)^b]
	}
	return crc
}
