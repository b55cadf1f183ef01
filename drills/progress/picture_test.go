package progress_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"strop/drills"
	"strop/drills/progress"
)

func sorted(set map[string]bool) []string { return slices.Sorted(maps.Keys(set)) }

func picture(t *testing.T, name string) []byte {
	t.Helper()
	var first, second bytes.Buffer
	for _, b := range []*bytes.Buffer{&first, &second} {
		if err := progress.WritePicture(b, name, summarise(history())); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("drawn twice, it differs")
	}
	return first.Bytes()
}

func TestSVG(t *testing.T) {
	data := picture(t, "progress.svg")
	d := xml.NewDecoder(bytes.NewReader(data))
	words := map[string]bool{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if text, ok := token.(xml.CharData); ok {
			words[strings.TrimSpace(string(text))] = true
		}
	}
	for _, want := range []string{"Tone, any frequency", "125 Hz", "8 kHz", "2026-05-04", "2026-05-10", "error", "error and bias, oct"} {
		if !words[want] {
			t.Errorf("%q is not written on it; there are %q", want, sorted(words))
		}
	}
	for _, absent := range []string{"2026-05-07", "Tone, four bands"} { // too few answers
		if words[absent] {
			t.Errorf("%q is written on it", absent)
		}
	}
	for _, want := range []string{"#0072B2", "#D55E00", "#FBF8F2", "#22201C"} {
		if !bytes.Contains(bytes.ToUpper(data), []byte(want)) {
			t.Errorf("nothing is drawn in %s", want)
		}
	}
}

func TestPNG(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(picture(t, "progress.PNG")))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[color.RGBA]int{}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, g, b, a := img.At(x, y).RGBA()
			seen[color.RGBA{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8), uint8(a >> 8)}]++
		}
	}
	pixels := img.Bounds().Dx() * img.Bounds().Dy()
	for c, least := range map[color.RGBA]int{
		{0xfb, 0xf8, 0xf2, 0xff}: pixels * 8 / 10,
		{0x22, 0x20, 0x1c, 0xff}: 500,
		{0x00, 0x72, 0xb2, 0xff}: 500,
		{0xd5, 0x5e, 0x00, 0xff}: 500,
	} {
		if seen[c] < least {
			t.Errorf("%d pixels of %v, want %d", seen[c], c, least)
		}
	}
}

// Enough for a page, too few in every part of it: the plots are empty.
func TestSparsePicture(t *testing.T) {
	var records []drills.Record
	for i, f := range octaves {
		r := answer("free", f, f)
		r.At = morning.AddDate(0, 0, i)
		records = append(records, r)
	}
	var b bytes.Buffer
	if err := progress.WritePicture(&b, "p.svg", summarise(records)); err != nil || !bytes.Contains(b.Bytes(), []byte("bias: +")) {
		t.Errorf("%v, %d bytes", err, b.Len())
	}
}

func TestNothingToDraw(t *testing.T) {
	few := []drills.Record{answer("free", 500, 500), answer("free", 500, 1000)}
	for want, records := range map[string][]drills.Record{"3 more answers are needed": few, "5 more answers are needed": nil} {
		var b bytes.Buffer
		err := progress.WritePicture(&b, "p.svg", summarise(records))
		if err == nil || !strings.Contains(err.Error(), want) || b.Len() > 0 {
			t.Errorf("got %v and %d bytes, want %q", err, b.Len(), want)
		}
	}
	if err := progress.WritePicture(io.Discard, "p.gif", summarise(history())); err == nil {
		t.Error("a .gif was drawn")
	}
}
