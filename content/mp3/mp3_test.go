package mp3

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// n is the length of most of the sound here: no multiple of any frame.
const n = 100_003

// lame is sound as LAME encodes it. It writes a file, because it goes back to
// its tag at the end.
func lame(tb testing.TB, frames []dsp.Frame, channels int, rateHz float64, args ...string) []byte {
	tb.Helper()
	dir := tb.TempDir()
	in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.mp3")
	pcmtest.Run(tb, pcmtest.Raw(frames, 16, channels), "sox", "-t", "raw", "-e", "signed", "-b", "16", "-L",
		"-c", fmt.Sprint(channels), "-r", fmt.Sprint(rateHz), "-", in)
	args = append([]string{"--quiet", "--resample", fmt.Sprint(rateHz / 1000)}, args...)
	pcmtest.Run(tb, nil, "lame", append(args, in, out)...)
	file, err := os.ReadFile(out)
	if err != nil {
		tb.Fatal(err)
	}
	return file
}

// mpg123 is what that decoder makes of a file, as 32-bit floats in stereo. It
// trims by the same tag.
func mpg123(tb testing.TB, file []byte, channels int) []dsp.Frame {
	tb.Helper()
	name := filepath.Join(tb.TempDir(), "in.mp3")
	if err := os.WriteFile(name, file, 0o600); err != nil {
		tb.Fatal(err)
	}
	return pcmtest.FromFloats(pcmtest.Run(tb, nil, "mpg123", "-q", "-s", "-e", "f32", name), channels)
}

var encodings = []struct {
	channels int
	rateHz   float64
	args     []string
}{
	{2, 44100, []string{"-b", "320"}}, {2, 44100, []string{"-V", "2"}}, {2, 48000, []string{"-b", "128", "-m", "j"}},
	{2, 44100, []string{"--abr", "150", "-m", "s"}}, {1, 44100, []string{"-b", "128"}}, {1, 48000, []string{"-V", "5"}},
	{2, 32000, []string{"-b", "192"}}, {2, 44100, []string{"-b", "160", "-p"}},
	{2, 22050, []string{"-b", "64"}}, {1, 22050, []string{"-V", "4"}}, {2, 24000, []string{"-b", "96"}}, {2, 16000, []string{"-b", "64"}},
}

// The decoder gives 16 bits without rounding to nearest, a step of -90.3 dBFS;
// it and mpg123 differ by little more.
func TestAgreesWithMpg123(t *testing.T) {
	for _, c := range encodings {
		file := lame(t, pcmtest.Music(n, c.rateHz), c.channels, c.rateHz, c.args...)
		f, got := pcmtest.Decode(t, Open, file)
		if f.RateHz != c.rateHz || f.Channels != c.channels || f.Frames != n {
			t.Errorf("%v: format %+v", c, f)
		}
		want := mpg123(t, file, c.channels)
		if len(got) != n || len(want) != n {
			t.Errorf("%v: %d frames, mpg123 has %d, want %d", c, len(got), len(want), n)
			continue
		}
		db := pcmtest.WorstDB(t, got, want)
		t.Logf("%v: differs from mpg123 by %.1f dBFS at most", c, db)
		if db > -80 {
			t.Errorf("%v: differs from mpg123 by %.1f dBFS", c, db)
		}
	}
}

func TestGapless(t *testing.T) {
	for _, c := range encodings {
		for _, length := range []int{1, 1153, 30_000} {
			music := pcmtest.Music(length, c.rateHz)
			_, got := pcmtest.Decode(t, Open, lame(t, music, c.channels, c.rateHz, c.args...))
			if len(got) != length {
				t.Errorf("%v: %d frames come back as %d", c, length, len(got))
			}
			if length < 30_000 {
				continue
			}
			if lag := pcmtest.Lag(got, music, 1300); lag != 0 {
				t.Errorf("%v: the sound comes %d frames late", c, lag)
			}
		}
	}
}

// ffmpeg writes the tag too, with figures of its own.
func TestGaplessByFFmpeg(t *testing.T) {
	music := pcmtest.Music(n, 44100)
	out := filepath.Join(t.TempDir(), "out.mp3")
	pcmtest.Run(t, pcmtest.Raw(music, 16, 2), "ffmpeg", "-nostdin", "-v", "error", "-f", "s16le", "-ac", "2", "-ar", "44100", "-i", "-", "-b:a", "192k", out)
	file, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	_, got := pcmtest.Decode(t, Open, file)
	if lag := pcmtest.Lag(got, music, 1500); lag != 0 || len(got) != n {
		t.Errorf("%d frames, %d late; want %d, 0 late", len(got), lag, n)
	}
}

// Without a tag everything is given: that is 1105 frames late by LAME's figures
// (576 of its own delay, 529 of the decoder), as mpg123 has it.
func TestWithoutTag(t *testing.T) {
	music := pcmtest.Music(n, 44100)
	file := lame(t, music, 2, 44100, "-t", "-b", "192")
	f, got := pcmtest.Decode(t, Open, file)
	if lag := pcmtest.Lag(got, music, 1500); lag != 1105 || f.Frames != -1 {
		t.Errorf("%d frames late, %d stated", lag, f.Frames)
	}
	want := mpg123(t, file, 2)
	if db := pcmtest.WorstDB(t, got[:len(want)], want); db > -80 {
		t.Errorf("differs from mpg123 by %.1f dBFS", db)
	}
}

// The first 40 seconds of two real recordings.
func TestRealFiles(t *testing.T) {
	dir := filepath.Join(pcmtest.ModuleDir(t, "github.com/hajimehoshi/go-mp3"), "example")
	for _, name := range []string{"classic.mp3", "mpeg2.mp3"} {
		file, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		src, err := Open(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		f := src.Format()
		first := 40 * int(f.RateHz)
		got, err := pcmtest.All(src, first)
		if err != nil {
			t.Fatal(err)
		}
		if db := pcmtest.WorstDB(t, got[:first], mpg123(t, file, f.Channels)[:first]); db > -80 {
			t.Errorf("%s: differs from mpg123 by %.1f dBFS", name, db)
		}
	}
}

func TestTagsBeforeAndBehind(t *testing.T) {
	file := lame(t, pcmtest.Music(30_000, 44100), 2, 44100)
	_, want := pcmtest.Decode(t, Open, file)
	id3v2 := []byte("ID3\x04\x00\x00\x00\x00\x02\x00" + string(bytes.Repeat([]byte{0xff, 0xfb, 0x90, 0}, 64)))
	id3v1 := []byte("TAG" + string(make([]byte, 125)))
	for _, v := range [][]byte{
		slices.Concat(id3v2, file), slices.Concat(file, id3v1), slices.Concat(id3v2, id3v2, file, id3v1),
		slices.Concat([]byte("some bytes of no meaning"), file),
	} {
		_, got := pcmtest.Decode(t, Open, v)
		if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
			t.Errorf("differs by %.1f dBFS", db)
		}
	}
}

// The first frame of a file that was cut out of a longer one refers to sound
// data that are gone. It is silent, as in mpg123, and not noise.
func TestCutAtTheFront(t *testing.T) {
	file := lame(t, pcmtest.Music(n, 44100), 2, 44100, "-t", "-b", "128")
	at, cut := 0, 0
	// main_data_begin is the first 9 bits of the side information (ISO/IEC
	// 11172-3, 2.4.1.7).
	for cut = 0; cut < 20 || int(file[at+4])<<1|int(file[at+5])>>7 < 100; cut++ {
		at += parseHeader(file[at:]).size()
	}
	_, whole := pcmtest.Decode(t, Open, file)
	_, got := pcmtest.Decode(t, Open, file[at:])
	for i, f := range got[:1152] {
		if f != (dsp.Frame{}) {
			t.Fatalf("frame %d of the first MPEG frame is %v", i, f)
		}
	}
	rest := whole[cut*1152:]
	if db := pcmtest.WorstDB(t, got[4*1152:], rest[4*1152:]); !math.IsInf(db, -1) {
		t.Errorf("after 4 MPEG frames still different by %.1f dBFS", db)
	}
}

func TestEnds(t *testing.T) {
	tagged := lame(t, pcmtest.Music(n, 44100), 2, 44100, "-b", "128")
	bare := lame(t, pcmtest.Music(n, 44100), 2, 44100, "-b", "128", "-t")
	hole := slices.Concat(bare[:10_000], bare[10_100:])
	cases := []struct {
		name string
		file []byte
		err  error
	}{
		{"whole", tagged, nil}, {"whole, no tag", bare, nil},
		{"cut", tagged[:len(tagged)/2], pcm.ErrTruncated}, {"cut, no tag", bare[:len(bare)/2+7], pcm.ErrTruncated},
		{"a hole", hole, pcm.ErrDamaged},
		{"an old tag behind", slices.Concat(bare, []byte("APETAGEX"), make([]byte, 200_000)), nil},
	}
	for _, c := range cases {
		src, err := Open(bytes.NewReader(c.file))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		frames, err := pcmtest.All(src, math.MaxInt)
		if !errors.Is(err, c.err) || len(frames) < n/10 {
			t.Errorf("%s: %d frames, %v; want %v", c.name, len(frames), err, c.err)
		}
		if err != nil {
			pcmtest.CheckSentence(t, err)
		}
	}
}

func TestVariantsThatAreNotRead(t *testing.T) {
	music := pcmtest.Music(40_000, 22050)
	layer2 := pcmtest.Run(t, pcmtest.Raw(music, 16, 2), "ffmpeg", "-nostdin", "-v", "error", "-f", "s16le", "-ac", "2", "-ar", "44100", "-i", "-", "-f", "mp2", "-")
	for name, file := range map[string][]byte{
		"MPEG 2.5":          lame(t, music, 2, 11025, "-b", "32"),
		"layer 2":           layer2,
		"free format":       lame(t, music, 2, 44100, "--freeformat", "-b", "200"),
		"22050 Hz, 96 kb/s": lame(t, music, 2, 22050, "-b", "96"),
	} {
		_, err := Open(bytes.NewReader(file))
		if !errors.As(err, new(pcm.Unsupported)) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		pcmtest.CheckSentence(t, err)
	}
	for _, file := range []string{"", "x", "no sound at all, but some words", string(make([]byte, 100_000))} {
		if _, err := Open(bytes.NewReader([]byte(file))); err != ErrNone {
			t.Errorf("%d bytes of something else: %v", len(file), err)
		}
	}
}

func TestHostile(t *testing.T) {
	for _, file := range [][]byte{
		lame(t, pcmtest.Music(20_000, 44100), 2, 44100, "-b", "64"), lame(t, pcmtest.Music(20_000, 22050), 1, 22050, "-V", "7"),
		lame(t, pcmtest.Music(20_000, 48000), 2, 48000, "-V", "0", "-t"),
	} {
		for _, v := range pcmtest.Damage(file, 200) {
			pcmtest.CheckHostile(t, Open, v)
		}
	}
}

func FuzzOpen(f *testing.F) {
	f.Add(lame(f, pcmtest.Music(6_000, 44100), 2, 44100, "-b", "64"))
	f.Add(lame(f, pcmtest.Music(6_000, 22050), 1, 22050, "-V", "7"))
	f.Fuzz(func(t *testing.T, file []byte) { pcmtest.CheckHostile(t, Open, file) })
}

func BenchmarkDecode(b *testing.B) {
	file := lame(b, pcmtest.Music(n, 44100), 2, 44100, "-b", "320")
	for b.Loop() {
		pcmtest.Decode(b, Open, file)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
}
