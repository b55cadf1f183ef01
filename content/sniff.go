package content

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"strop/content/aiff"
	"strop/content/flac"
	"strop/content/id3"
	"strop/content/mp3"
	"strop/content/ogg"
	"strop/content/pcm"
	"strop/content/wav"
)

var (
	// errUnknown is the error of a file that no decoder here knows.
	errUnknown = errors.New("its format is not known")
	// errForeign is that of a file which is in all likelihood sound.
	errForeign = fmt.Errorf("%w here", errUnknown)
)

// sniff tells the format of r by how it begins, and opens it.
func sniff(r io.ReadSeeker) (pcm.Source, error) {
	start, err := peekPastTags(r)
	if err != nil {
		return nil, err
	}
	if open := decoderOf(start); open != nil {
		return open(r)
	}
	if foreign(start) {
		return nil, errForeign
	}
	src, err := mp3.Open(r) // MP3 has no mark: its frames must be searched for
	switch {
	case err != mp3.ErrNone:
		return src, err
	case isText(start):
		return nil, ErrNotAudio
	}
	return nil, errUnknown
}

// peekPastTags is the first bytes after the ID3v2 tags that r begins with. It
// leaves r at those bytes.
func peekPastTags(r io.ReadSeeker) ([]byte, error) {
	if err := id3.Skip(r); err != nil {
		return nil, err
	}
	start := make([]byte, 4096)
	n, err := io.ReadFull(r, start)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	_, err = r.Seek(-int64(n), io.SeekCurrent)
	return start[:n], err
}

// decoderOf is the Open of the format whose mark start bears, nil if none.
func decoderOf(start []byte) func(io.ReadSeeker) (pcm.Source, error) {
	head := string(start[:min(4, len(start))])
	form := ""
	if len(start) >= 12 {
		form = string(start[8:12])
	}
	switch {
	case (head == "RIFF" || head == "RIFX" || head == "RF64" || head == "BW64") && form == "WAVE":
		return wav.Open
	case head == "FORM" && (form == "AIFF" || form == "AIFC"):
		return aiff.Open
	case head == "fLaC":
		return flac.Open
	case head == "OggS":
		return ogg.Open
	}
	return nil
}

// foreign tells whether start bears the mark of a format that holds sound and
// is not decoded here.
func foreign(start []byte) bool {
	for _, mark := range [...]struct {
		at   int
		text string
	}{
		{4, "ftyp"}, // M4A, MP4 and their kin
		{0, "wvpk"}, // WavPack
		{0, "caff"}, // Core Audio
		{0, "MAC "}, // Monkey's Audio
		{0, "MPCK"}, // Musepack
		{0, "TTA1"},
		{0, "DSD "},
		{0, "riff\x2e\x91\xcf\x11"},             // Wave64
		{0, ".snd"},                             // AU
		{0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11"}, // WMA
		{0, "\x1a\x45\xdf\xa3"},                 // Matroska, WebM
		{0, "\xff\xf1"}, {0, "\xff\xf9"},        // bare AAC
	} {
		if len(start) > mark.at && bytes.HasPrefix(start[mark.at:], []byte(mark.text)) {
			return true
		}
	}
	return false
}

// isText tells whether start could have been typed.
func isText(start []byte) bool {
	for len(start) > 0 {
		r, size := utf8.DecodeRune(start)
		cut := r == utf8.RuneError && !utf8.FullRune(start)
		if !cut && (r == utf8.RuneError || r < ' ' && !bytes.ContainsRune([]byte("\t\n\r\f\x1b"), r)) {
			return false
		}
		start = start[size:]
	}
	return true
}
