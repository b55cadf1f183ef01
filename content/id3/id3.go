// Package id3 skips the tags that taggers put in front of MP3 and FLAC files.
package id3

import (
	"errors"
	"io"
)

// maxTags is how many tags one file may begin with; more are no file of music.
const maxTags = 16

// Skip leaves r behind the ID3v2 tags that begin where it stands, or where it
// stood if there is none. A tag's size is a claim: it may lead beyond the end.
//
// Source: Nilsson, ID3 tag version 2.4.0, Main Structure, 2000, section 3.1:
// "ID3", two bytes of version, one of flags (0x10: a footer of 10 bytes), four
// bytes of size with seven bits in each.
func Skip(r io.ReadSeeker) error {
	for range maxTags {
		var head [10]byte
		n, err := io.ReadFull(r, head[:])
		if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
			return err
		}
		size := tagSize(head)
		if n < len(head) || size == 0 {
			_, err = r.Seek(-int64(n), io.SeekCurrent)
			return err
		}
		if _, err = r.Seek(size-int64(n), io.SeekCurrent); err != nil {
			return err
		}
	}
	return nil
}

// tagSize is the size of the whole tag that head begins, 0 if it begins none.
func tagSize(head [10]byte) int64 {
	if string(head[:3]) != "ID3" || head[3] == 0xff || head[4] == 0xff {
		return 0
	}
	size := int64(10)
	if head[5]&0x10 != 0 {
		size += 10
	}
	body := int64(0)
	for _, b := range head[6:] {
		if b&0x80 != 0 {
			return 0
		}
		body = body<<7 | int64(b)
	}
	return size + body
}
