package aiff

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// made is a file that a program writes to disk, so that it can go back to
// correct its sizes. The sound goes in as 32-bit floats.
func made(tb testing.TB, frames []dsp.Frame, channels int, name string, args ...string) []byte {
	tb.Helper()
	var raw []byte
	for _, f := range frames {
		for ch := range channels {
			raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(float32(f[ch])))
		}
	}
	path := filepath.Join(tb.TempDir(), "made.aiff")
	pcmtest.Run(tb, raw, name, append(args, path)...)
	file, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return file
}

// theirs is the 64-bit floats that a program decodes a file to.
func theirs(raw []byte, channels int) []dsp.Frame {
	frames := make([]dsp.Frame, len(raw)/(8*channels))
	for i := range frames {
		for ch := range 2 {
			frames[i][ch] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*(i*channels+ch%channels):]))
		}
	}
	return frames
}

func byFFmpeg(tb testing.TB, file []byte, channels int) []dsp.Frame {
	return theirs(pcmtest.Run(tb, file, "ffmpeg", "-v", "error", "-i", "-", "-f", "f64le", "-"), channels)
}

func same(t *testing.T, got, want []dsp.Frame) {
	t.Helper()
	if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
		t.Errorf("differs by %.1f dBFS", db)
	}
}

// hot is music that goes 6 dB beyond full scale.
func hot(n int) []dsp.Frame {
	frames := pcmtest.Music(n, 44100)
	dsp.Gain(2.2).Process(frames)
	return frames
}

// Every sample format, as ffmpeg writes and reads it.
func TestAgainstFFmpeg(t *testing.T) {
	for _, c := range []struct {
		codec, container, name string
		bits                   int
	}{
		{"pcm_s8", "AIFF", "PCM", 8}, {"pcm_s16be", "AIFF", "PCM", 16}, {"pcm_s24be", "AIFF", "PCM", 24}, {"pcm_s32be", "AIFF", "PCM", 32},
		{"pcm_s16le", "AIFC", "PCM", 16}, {"pcm_f32be", "AIFC", "float", 32}, {"pcm_f64be", "AIFC", "float", 64},
	} {
		for channels := 1; channels <= 2; channels++ {
			t.Run(fmt.Sprint(c, channels), func(t *testing.T) {
				file := made(t, hot(7001), channels, "ffmpeg", "-v", "error", "-f", "f32le", "-ar", "44100", "-ac", fmt.Sprint(channels), "-i", "-", "-c:a", c.codec)
				format, got := pcmtest.Decode(t, Open, file)
				same(t, got, byFFmpeg(t, file, channels))
				want := pcm.Format{Container: c.container, Codec: c.name, RateHz: 44100, Channels: channels, Bits: c.bits, Frames: 7001}
				if format != want {
					t.Errorf("format is %+v, want %+v", format, want)
				}
			})
		}
	}
}

// Sample formats and byte orders as sox writes and reads them, to disk and to
// a pipe, in which it cannot correct the sizes.
func TestAgainstSox(t *testing.T) {
	for _, to := range []string{"-b 8 -t aiff", "-b 16 -t aiff", "-b 24 -t aiff", "-b 32 -t aiff", "-b 16 -t aifc", "-b 24 -t aifc"} {
		t.Run(to, func(t *testing.T) {
			from := strings.Fields("-D -t f32 -L -r 96000 -c 2 - " + to)
			file := made(t, pcmtest.Music(5003, 96000), 2, "sox", from...)
			format, got := pcmtest.Decode(t, Open, file)
			same(t, got, theirs(pcmtest.Run(t, file, "sox", "-t", "aiff", "-", "-t", "f64", "-L", "-"), 2))
			if format.RateHz != 96000 || len(got) != 5003 {
				t.Errorf("%d frames of %g Hz", len(got), format.RateHz)
			}
			piped := pcmtest.Run(t, file, "sox", append(strings.Fields("-D -t aiff - "+to), "-")...)
			_, again := pcmtest.Decode(t, Open, piped)
			same(t, again, got)
			_, again = pcmtest.Decode(t, openPipe, piped)
			same(t, again, got)
		})
	}
}

func TestRealFile(t *testing.T) {
	var m struct{ Dir, Error string }
	out, err := exec.Command("go", "mod", "download", "-json", "github.com/go-audio/wav@v1.1.0").Output()
	if json.Unmarshal(out, &m); m.Dir == "" {
		t.Skipf("needs the test files of github.com/go-audio/wav@v1.1.0, which cannot be had: %v %s", err, m.Error)
	}
	file, err := os.ReadFile(filepath.Join(m.Dir, "fixtures", "bloop.aif"))
	if err != nil {
		t.Fatal(err)
	}
	format, got := pcmtest.Decode(t, Open, file)
	same(t, got, byFFmpeg(t, file, format.Channels))
}

// pipe cannot seek, and gives little at a time.
type pipe struct{ io.Reader }

func (p pipe) Read(b []byte) (int, error) { return p.Reader.Read(b[:min(len(b), 1+len(b)/3)]) }

func (pipe) Seek(int64, int) (int64, error) { return 0, errors.New("illegal seek") }

func openPipe(r io.ReadSeeker) (pcm.Source, error) { return Open(pipe{r}) }

// The rates are those that ffmpeg and sox write, taken from their files, and
// that of the Macintosh, 22254.54545 Hz, from the example in AIFF 1.3 (from
// memory).
func TestExtended(t *testing.T) {
	for hex, want := range map[string]float64{
		"400bfa00000000000000": 8000, "400dac44000000000000": 22050, "400eac44000000000000": 44100,
		"400ebb80000000000000": 48000, "4011bb80000000000000": 384000, "400daddd1745d145826b": 22254.54545454,
		"c00eac44000000000000": -44100, "00000000000000000000": 0, "3fff8000000000000000": 1,
	} {
		var b []byte
		if _, err := fmt.Sscanf(hex, "%x", &b); err != nil {
			t.Fatal(err)
		}
		if got := extended(b); math.Abs(got-want) > 1e-7 {
			t.Errorf("%s is %.9f, want %.9f", hex, got, want)
		}
	}
	if got := extended(bytes.Repeat([]byte{0xff}, 10)); !math.IsNaN(got) {
		t.Errorf("all ones are %g", got)
	}
}

func BenchmarkDecode(b *testing.B) {
	const n = 1 << 18
	buf := make([]dsp.Frame, 4096)
	for _, codec := range []string{"pcm_s16be", "pcm_s24be", "pcm_f32be"} {
		b.Run(codec, func(b *testing.B) {
			file := made(b, pcmtest.Music(n, 48000), 2, "ffmpeg", "-v", "error", "-f", "f32le", "-ar", "48000", "-ac", "2", "-i", "-", "-c:a", codec)
			b.ReportAllocs()
			for b.Loop() {
				src, err := Open(bytes.NewReader(file))
				if err != nil {
					b.Fatal(err)
				}
				for ok := true; ok; {
					_, ok = src.Stream(buf)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
		})
	}
}
