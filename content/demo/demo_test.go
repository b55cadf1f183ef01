package demo

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"strop/dsp"
)

// A piece is the rough mix of its song, of the length that it states, and
// nothing after it.
func TestPieceIsTheRoughMix(t *testing.T) {
	p, err := Find("corner")
	if err != nil {
		t.Fatal(err)
	}
	frames := readPiece(t, p)
	want := mustTakes(t)["corner"]
	if p.Hash != want.take.Song.Hash(want.take.Seed) || !slices.Equal(frames, want.mix) {
		t.Errorf("%s is another sound than the mix of its stems", p.Name)
	}
}

func readPiece(t *testing.T, p Piece) []dsp.Frame {
	t.Helper()
	src := p.Open()
	frames := make([]dsp.Frame, src.Format().Frames)
	for n := 0; n < len(frames); {
		got, ok := src.Stream(frames[n:min(n+4096, len(frames))])
		if !ok {
			t.Fatalf("%s ends after %d of %d frames: %v", p.Name, n, len(frames), src.Err())
		}
		n += got
	}
	if got, ok := src.Stream(make([]dsp.Frame, 1)); got > 0 || ok || src.Err() != nil {
		t.Errorf("%s goes on after its end", p.Name)
	}
	return frames
}

// Every octave can be asked about in a rough mix: none lies more than 45 dB
// below the whole, but for the songs whose only high frequencies come from a
// source that is marked.
func TestPiecesAreFullBand(t *testing.T) {
	for name, m := range mustTakes(t) {
		limited := true
		for _, st := range m.take.Stems {
			limited = limited && st.LimitHz > 0
		}
		for i, levelDB := range m.rough.bandsDB {
			if levelDB < -45 && !limited {
				t.Errorf("%s: %g Hz lies at %.1f dB", name, bandsHz[i], levelDB)
			}
		}
	}
}

// Loudness and true peak of a rough mix and of the noise, as an independent meter,
// the one in ffmpeg, reads them.
func TestPiecesLoudness(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("needs ffmpeg")
	}
	noise, err := pink().render()
	if err != nil {
		t.Fatal(err)
	}
	for name, frames := range map[string][]dsp.Frame{"corner": mustTakes(t)["corner"].mix, "pink": noise} {
		lufs, peak := ffmpegFigures(t, frames)
		if math.Abs(lufs-loudnessLUFS) > 0.11 || peak > -1 {
			t.Errorf("%s: %.1f LUFS, %.1f dBTP", name, lufs, peak)
		}
	}
}

func ffmpegFigures(t *testing.T, frames []dsp.Frame) (lufs, peak float64) {
	t.Helper()
	var raw bytes.Buffer
	for _, f := range frames {
		binary.Write(&raw, binary.LittleEndian, [2]float32{float32(f[0]), float32(f[1])})
	}
	cmd := exec.Command("ffmpeg", "-nostats", "-f", "f32le", "-ar", "48000", "-ac", "2", "-i", "-", "-af", "ebur128=peak=true", "-f", "null", "-")
	cmd.Stdin = &raw
	text, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatal(err)
	}
	figure := func(name string) float64 {
		all := regexp.MustCompile(name+`:\s+(-?[0-9.]+) `).FindAllSubmatch(text, -1)
		if len(all) == 0 {
			t.Fatalf("no %s in %s", name, text)
		}
		v, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	return figure("I"), figure("Peak")
}

// The noise has the identity and the levels that it had: equal in all octaves
// (−11.4 dB each, of the ten and a part that it fills).
func TestPink(t *testing.T) {
	p := pink()
	if p.Hash != "demo:pink:2:1" {
		t.Errorf("its identity is %s", p.Hash)
	}
	frames, err := p.render()
	if err != nil {
		t.Fatal(err)
	}
	left := make([]float64, len(frames))
	for i, f := range frames {
		left[i] = f[0]
	}
	for i, levelDB := range bandsDB(left, 1<<14)[:8] {
		if math.Abs(levelDB+11.4) > 0.4 {
			t.Errorf("%g Hz: %.2f dB", bandsHz[i], levelDB)
		}
	}
}

// A list costs no rendering: its pieces and their names.
func TestFind(t *testing.T) {
	pieces, err := List()
	if err != nil || len(pieces) != len(songNames)+1 {
		t.Fatalf("%d pieces, %v", len(pieces), err)
	}
	for _, p := range pieces {
		if p.Title == "" || p.Doc == "" || !strings.HasPrefix(p.Hash, "demo:"+p.Name+":") {
			t.Errorf("%+v", p)
		}
	}
	if _, err := Find("none"); err == nil || !strings.HasPrefix(err.Error(), `there is no built-in material "none"; there are kettle, lanterns, `) {
		t.Errorf("%v", err)
	}
	if _, err := FindSong("none"); err == nil {
		t.Error("there is a song called none")
	}
}

func BenchmarkList(b *testing.B) {
	for b.Loop() {
		if _, err := List(); err != nil {
			b.Fatal(err)
		}
	}
}
