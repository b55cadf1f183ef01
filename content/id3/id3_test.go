package id3

import (
	"io"
	"strings"
	"testing"
)

// The sizes are those of the example and the text of section 3.1 and 6.2 of
// the standard: 257 is written 00 00 02 01.
func TestSkip(t *testing.T) {
	body := strings.Repeat("x", 257)
	tag := "ID3\x04\x00\x00\x00\x00\x02\x01" + body
	cases := []struct{ name, file, rest string }{
		{"none", "fLaC....", "fLaC...."},
		{"empty", "", ""},
		{"short", "ID3\x04", "ID3\x04"},
		{"one", tag + "music", "music"},
		{"two", tag + tag + "music", "music"},
		{"footer", "ID3\x04\x00\x10\x00\x00\x02\x01" + body + "3DI.......music", "music"},
		{"no size", "ID3\x04\x00\x00\x00\x00\x82\x01" + body, "ID3\x04\x00\x00\x00\x00\x82\x01" + body},
		{"no version", "ID3\xff\x00\x00\x00\x00\x00\x01" + body, "ID3\xff\x00\x00\x00\x00\x00\x01" + body},
		{"beyond the end", "ID3\x04\x00\x00\x7f\x7f\x7f\x7fmusic", ""},
	}
	for _, c := range cases {
		r := strings.NewReader("lead" + c.file)
		r.Seek(4, io.SeekStart)
		if err := Skip(r); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if rest, _ := io.ReadAll(r); string(rest) != c.rest {
			t.Errorf("%s: %q is left, want %q", c.name, rest, c.rest)
		}
	}
}
