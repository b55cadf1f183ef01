package wav

import (
	"bytes"
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
// correct its sizes. The sound goes in as 64-bit floats.
func made(tb testing.TB, frames []dsp.Frame, channels int, name string, args ...string) []byte {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "made.wav")
	pcmtest.Run(tb, doubles(frames, channels), name, append(args, path)...)
	file, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return file
}

func doubles(frames []dsp.Frame, channels int) []byte {
	var raw []byte
	for _, f := range frames {
		for ch := range channels {
			raw = order.AppendUint64(raw, math.Float64bits(f[ch]))
		}
	}
	return raw
}

func fromDoubles(raw []byte, channels int) []dsp.Frame {
	frames := make([]dsp.Frame, len(raw)/(8*channels))
	for i := range frames {
		for ch := range 2 {
			frames[i][ch] = math.Float64frombits(order.Uint64(raw[8*(i*channels+ch%channels):]))
		}
	}
	return frames
}

// byFFmpeg is what ffmpeg decodes file to.
func byFFmpeg(tb testing.TB, file []byte, channels int) []dsp.Frame {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "theirs.wav")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		tb.Fatal(err)
	}
	return fromDoubles(pcmtest.Run(tb, nil, "ffmpeg", "-v", "error", "-i", path, "-f", "f64le", "-"), channels)
}

func same(t *testing.T, got, want []dsp.Frame) {
	t.Helper()
	if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
		t.Errorf("differs by %.1f dBFS", db)
	}
}

// hot is music that goes 6 dB beyond full scale.
func hot(n int) []dsp.Frame {
	frames := pcmtest.Music(n, 48000)
	dsp.Gain(2.2).Process(frames)
	return frames
}

var ffmpegCodecs = []struct {
	codec, name string
	bits        int
}{
	{"pcm_u8", "PCM", 8}, {"pcm_s16le", "PCM", 16}, {"pcm_s24le", "PCM", 24}, {"pcm_s32le", "PCM", 32},
	{"pcm_f32le", "float", 32}, {"pcm_f64le", "float", 64},
}

// Every sample format, as ffmpeg writes and reads it.
func TestAgainstFFmpeg(t *testing.T) {
	variants := []struct {
		container string
		n         int
		args      []string
	}{
		{"WAV", 7001, nil}, {"WAV", 7001, []string{"-write_bext", "1", "-metadata", "description=odd"}},
		{"RF64", 7002, []string{"-rf64", "always"}}, // of an odd size ffmpeg counts the padding in
	}
	for _, c := range ffmpegCodecs {
		for _, v := range variants {
			for channels := 1; channels <= 2; channels++ {
				t.Run(fmt.Sprint(c.codec, v, channels), func(t *testing.T) {
					args := []string{"-v", "error", "-f", "f64le", "-ar", "48000", "-ac", fmt.Sprint(channels), "-i", "-", "-c:a", c.codec}
					file := made(t, hot(v.n), channels, "ffmpeg", append(args, v.args...)...)
					format, got := pcmtest.Decode(t, Open, file)
					same(t, got, byFFmpeg(t, file, channels))
					want := pcm.Format{Container: v.container, Codec: c.name, RateHz: 48000, Channels: channels, Bits: c.bits, Frames: int64(v.n)}
					if format != want {
						t.Errorf("format is %+v, want %+v", format, want)
					}
				})
			}
		}
	}
}

// Every sample format and byte order, as sox writes and reads it: of more than
// 16 bits it writes the extensible format. It has no floats beyond full scale.
func TestAgainstSox(t *testing.T) {
	for _, encoding := range []string{"-e unsigned -b 8", "-b 16", "-b 24", "-b 32", "-e float -b 32", "-e float -b 64"} {
		for _, endian := range []string{"-L", "-B"} {
			t.Run(encoding+endian, func(t *testing.T) {
				args := append([]string{"-D", "-t", "f64", "-L", "-r", "44100", "-c", "2", "-"}, strings.Fields(encoding)...)
				file := made(t, pcmtest.Music(5003, 44100), 2, "sox", append(args, endian)...)
				_, got := pcmtest.Decode(t, Open, file)
				want := pcmtest.Run(t, file, "sox", "-D", "-t", "wav", "-", "-t", "f64", "-L", "-")
				same(t, got, fromDoubles(want, 2))
			})
		}
	}
}

func TestFloatsAboveFullScaleAreKept(t *testing.T) {
	file := made(t, hot(7001), 2, "ffmpeg", "-v", "error", "-f", "f64le", "-ar", "48000", "-ac", "2", "-i", "-", "-c:a", "pcm_f64le")
	_, got := pcmtest.Decode(t, Open, file)
	same(t, got, hot(7001))
}

// What programs write into a pipe has sizes that were never corrected.
func TestPiped(t *testing.T) {
	music := pcmtest.Music(6007, 44100)
	raw := pcmtest.Raw(music, 16, 2)
	want := pcmtest.FromRaw(raw, 16, 2)
	files := map[string][]byte{
		"ffmpeg":      pcmtest.Run(t, raw, "ffmpeg", "-v", "error", "-f", "s16le", "-ar", "44100", "-ac", "2", "-i", "-", "-f", "wav", "-"),
		"ffmpeg RF64": pcmtest.Run(t, raw, "ffmpeg", "-v", "error", "-f", "s16le", "-ar", "44100", "-ac", "2", "-i", "-", "-rf64", "always", "-f", "wav", "-"),
		"sox":         pcmtest.Run(t, raw, "sox", "-t", "s16", "-L", "-r", "44100", "-c", "2", "-", "-t", "wav", "-"),
		"sox 24":      pcmtest.Run(t, raw, "sox", "-D", "-t", "s16", "-L", "-r", "44100", "-c", "2", "-", "-b", "24", "-t", "wav", "-"),
	}
	for name, file := range files {
		t.Run(name, func(t *testing.T) {
			format, got := pcmtest.Decode(t, Open, file)
			same(t, got, want)
			if format.Frames != 6007 {
				t.Errorf("%d frames foreseen", format.Frames)
			}
			format, got = pcmtest.Decode(t, openPipe, file)
			same(t, got, want)
			if format.Frames != -1 {
				t.Errorf("%d frames foreseen in a pipe", format.Frames)
			}
		})
	}
}

// pipe cannot seek, and gives little at a time.
type pipe struct{ io.Reader }

func (p pipe) Read(b []byte) (int, error) { return p.Reader.Read(b[:min(len(b), 1+len(b)/3)]) }

func (pipe) Seek(int64, int) (int64, error) { return 0, errors.New("illegal seek") }

func openPipe(r io.ReadSeeker) (pcm.Source, error) { return Open(pipe{r}) }

// Files of real recorders and workstations, with their odd chunks.
func TestRealFiles(t *testing.T) {
	paths, _ := filepath.Glob(filepath.Join(downloaded(t, "github.com/go-audio/wav@v1.1.0"), "fixtures", "*.wav"))
	if len(paths) < 12 {
		t.Fatalf("%d files, want 12", len(paths))
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			file, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			format, got := pcmtest.Decode(t, Open, file)
			same(t, got, byFFmpeg(t, file, format.Channels))
			_, piped := pcmtest.Decode(t, openPipe, file)
			same(t, piped, got)
			if format.Frames != int64(len(got)) {
				t.Errorf("%d frames foreseen, %d given", format.Frames, len(got))
			}
		})
	}
}

// downloaded is the folder of a module that is no dependency.
func downloaded(t *testing.T, module string) string {
	t.Helper()
	var m struct{ Dir, Error string }
	out, err := exec.Command("go", "mod", "download", "-json", module).Output()
	if json.Unmarshal(out, &m); m.Dir == "" {
		t.Skipf("needs the test files of %s, which cannot be had: %v %s", module, err, m.Error)
	}
	return m.Dir
}

// A file that does not start at the start of what is read.
func TestStartsWhereItStands(t *testing.T) {
	file := append([]byte("what came before"), hand().data("data", 8).bytes...)
	r := bytes.NewReader(file)
	r.Seek(16, io.SeekStart)
	src, err := Open(r)
	if err != nil {
		t.Fatal(err)
	}
	if all, err := pcmtest.All(src, 10); len(all) != 2 || err != nil {
		t.Errorf("%d frames, %v; want 2", len(all), err)
	}
}

func BenchmarkDecode(b *testing.B) {
	const n = 1 << 18
	music := pcmtest.Music(n, 48000)
	buf := make([]dsp.Frame, 4096)
	for _, c := range ffmpegCodecs {
		b.Run(c.codec, func(b *testing.B) {
			file := made(b, music, 2, "ffmpeg", "-v", "error", "-f", "f64le", "-ar", "48000", "-ac", "2", "-i", "-", "-c:a", c.codec)
			b.ReportAllocs()
			for b.Loop() {
				src, err := Open(bytes.NewReader(file))
				if err != nil {
					b.Fatal(err)
				}
				for {
					if _, ok := src.Stream(buf); !ok {
						break
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
		})
	}
}
