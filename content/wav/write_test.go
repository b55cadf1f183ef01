package wav

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

var samples = map[Sample]string{Float32: "f32le", Float64: "f64le", Uint8: "u8", Int16: "s16le", Int24: "s24le", Int32: "s32le"}

// written is a file on disk, and the writer that made it.
func written(tb testing.TB, f WriteFormat, frames []dsp.Frame, largest int64) ([]byte, *Writer) {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "written.wav")
	file, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	w, err := NewWriter(file, f)
	if err != nil {
		tb.Fatal(err)
	}
	if largest > 0 {
		w.largest = largest
	}
	if err := w.Write(frames[:len(frames)/3]); err != nil {
		tb.Fatal(err)
	}
	if err := w.Write(frames[len(frames)/3:]); err != nil {
		tb.Fatal(err)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return b, w
}

// onGrid is music that a sample format holds exactly, mono or stereo.
func onGrid(s Sample, n, channels int) []dsp.Frame {
	frames := pcmtest.Music(n, 48000)
	for i, f := range frames {
		for ch := range 2 {
			v := f[ch%channels]
			switch steps := math.Ldexp(1, 8*s.Bytes()-1); s {
			case Float32:
				v = float64(float32(v * 3))
			case Float64:
				v *= 3
			default:
				v = math.Round(v*steps) / steps
			}
			frames[i][ch] = v
		}
	}
	if !s.float() {
		frames[0] = dsp.Frame{-1, -1}
	}
	return frames
}

// What is written in every format is read back to the bit, by this package, by
// ffmpeg, and, of what it can hold, by sox. RF64 is forced by a low limit.
func TestRoundTrip(t *testing.T) {
	for s, name := range samples {
		for channels := 1; channels <= 2; channels++ {
			for container, largest := range map[string]int64{"WAV": 0, "RF64": 1000} {
				t.Run(fmt.Sprint(name, channels, container), func(t *testing.T) {
					want := onGrid(s, 5001, channels)
					f := WriteFormat{RateHz: 48000, Channels: channels, Sample: s, NoDither: true}
					file, w := written(t, f, want, largest)
					format, got := pcmtest.Decode(t, Open, file)
					same(t, got, want)
					same(t, byFFmpeg(t, file, channels), want)
					if format.Container != container || format.Frames != 5001 || w.Frames() != 5001 || w.Clipped() != 0 {
						t.Errorf("%+v, %d clipped", format, w.Clipped())
					}
					if container == "WAV" && !s.float() {
						same(t, fromDoubles(pcmtest.Run(t, file, "sox", "-t", "wav", "-", "-t", "f64", "-L", "-"), channels), want)
					}
				})
			}
		}
	}
}

// The sizes are right to the byte: an odd sound is padded, and the form ends
// with the file.
func TestSizes(t *testing.T) {
	file, _ := written(t, WriteFormat{RateHz: 8000, Channels: 1, Sample: Uint8}, make([]dsp.Frame, 5), 0)
	if len(file)%2 != 0 || order.Uint32(file[4:]) != uint32(len(file)-8) || order.Uint32(file[dataAt+4:]) != 5 || order.Uint32(file[factAt+8:]) != 5 {
		t.Errorf("%d bytes: %x", len(file), file[:soundAt])
	}
	large, _ := written(t, WriteFormat{RateHz: 8000, Channels: 2, Sample: Float64}, make([]dsp.Frame, 500), 1000)
	if order.Uint64(large[ds64At+8:]) != uint64(len(large)-8) || order.Uint64(large[ds64At+16:]) != 8000 || order.Uint64(large[ds64At+24:]) != 500 {
		t.Errorf("%x", large[:soundAt])
	}
	edge, _ := written(t, WriteFormat{RateHz: 8000, Channels: 2, Sample: Int16, NoDither: true}, make([]dsp.Frame, 10), soundAt-8+40)
	if string(edge[:4]) != "RIFF" {
		t.Errorf("a file of exactly the largest size is %s", edge[:4])
	}
}

// The head of a file beyond 4 GiB, without the writing of its sound.
func TestBeyondFourGiB(t *testing.T) {
	var sink heads
	w, err := NewWriter(&sink, WriteFormat{RateHz: 384000, Channels: 2, Sample: Float64})
	if err != nil {
		t.Fatal(err)
	}
	w.frames = 1<<28 + 1 // as if so many had been written
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if got := sink.last; string(got[:4]) != "RF64" || order.Uint64(got[ds64At+16:]) != 1<<32+16 || order.Uint32(got[4:]) != math.MaxUint32 {
		t.Errorf("%x", got)
	}
}

// heads keeps what was last written in one piece.
type heads struct{ last []byte }

func (h *heads) Write(b []byte) (int, error) {
	h.last = bytes.Clone(b)
	return len(b), nil
}

func (h *heads) Seek(int64, int) (int64, error) { return 0, nil }

// Into a pipe go sizes that ffmpeg, sox and this package take for unknown.
func TestWriteToPipe(t *testing.T) {
	want := onGrid(Int16, 5001, 2)
	var out bytes.Buffer
	w, err := NewWriter(&out, WriteFormat{RateHz: 48000, Channels: 2, Sample: Int16, NoDither: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(want); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	_, got := pcmtest.Decode(t, Open, out.Bytes())
	same(t, got, want)
	same(t, byFFmpeg(t, out.Bytes(), 2), want)
	same(t, fromDoubles(pcmtest.Run(t, out.Bytes(), "sox", "--ignore-length", "-t", "wav", "-", "-t", "f64", "-L", "-"), 2), want)
}

// Triangular dither of two steps: the mean error is 0 and its power a quarter
// of a step squared, whatever the input, and the two moments do not depend on
// it. Source: Lipshitz, Wannamaker and Vanderkooy, Quantization and Dither,
// JAES 40 (5), 1992 (from memory).
func TestDither(t *testing.T) {
	const n = 200_000
	step := math.Ldexp(1, -15)
	for _, part := range []float64{0, 0.1, 0.25, 0.5, 0.77} {
		frames := make([]dsp.Frame, n)
		for i := range frames {
			frames[i] = dsp.Frame{part * step, -part * step}
		}
		file, _ := written(t, WriteFormat{RateHz: 48000, Channels: 2, Sample: Int16, Seed: 3}, frames, 0)
		_, got := pcmtest.Decode(t, Open, file)
		mean, power, cross := 0.0, 0.0, 0.0
		for _, f := range got {
			l, r := f[0]/step-part, f[1]/step+part
			mean, power, cross = mean+l/n, power+l*l/n, cross+l*r/n
		}
		if math.Abs(mean) > 0.005 || math.Abs(power-0.25) > 0.005 || math.Abs(cross) > 0.005 {
			t.Errorf("at %g steps: error of mean %.4f and power %.4f steps, left times right %.4f; want 0, 0.25, 0", part, mean, power, cross)
		}
	}
}

func TestSeed(t *testing.T) {
	f := WriteFormat{RateHz: 48000, Channels: 2, Sample: Int24, Seed: 1}
	a, _ := written(t, f, pcmtest.Music(999, 48000), 0)
	b, _ := written(t, f, pcmtest.Music(999, 48000), 0)
	f.Seed = 2
	c, _ := written(t, f, pcmtest.Music(999, 48000), 0)
	if !bytes.Equal(a, b) || bytes.Equal(a, c) {
		t.Error("the seed alone does not decide")
	}
}

// Integers hold -1 but not 1.
func TestClipping(t *testing.T) {
	frames := []dsp.Frame{{-1, 1}, {1.5, -1.5}, {0.5, -0.5}, {math.MaxFloat64, -1}}
	for s := range samples {
		if s.float() {
			continue
		}
		file, w := written(t, WriteFormat{RateHz: 48000, Channels: 2, Sample: s, NoDither: true}, frames, 0)
		top := 1 - math.Ldexp(1, 1-8*s.Bytes())
		_, got := pcmtest.Decode(t, Open, file)
		same(t, got, []dsp.Frame{{-1, top}, {top, -1}, {0.5, -0.5}, {top, -1}})
		if w.Clipped() != 4 {
			t.Errorf("%s: %d clipped, want 4", samples[s], w.Clipped())
		}
	}
}

func TestWriteRefusals(t *testing.T) {
	for want, f := range map[string]WriteFormat{
		"it has 6 channels":                  {RateHz: 48000, Channels: 6},
		"a WAV file has a whole":             {RateHz: 44100.5, Channels: 2},
		"a WAV file has a whole sample":      {RateHz: 4000, Channels: 2},
		"a WAV file has a whole sample rate": {RateHz: math.NaN(), Channels: 2},
		"there is no sample format 9":        {RateHz: 48000, Channels: 2, Sample: 9},
	} {
		if _, err := NewWriter(io.Discard, f); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// What cannot be written is an error, and what came before it stays a file.
func TestBadFrames(t *testing.T) {
	for _, c := range []struct {
		sample   Sample
		channels int
		bad      dsp.Frame
		want     string
	}{
		{Float64, 2, dsp.Frame{0, math.NaN()}, "a frame is no finite number"},
		{Float32, 2, dsp.Frame{1e39, 0}, "a frame is no finite number"},
		{Int16, 2, dsp.Frame{math.Inf(1), 0}, "a frame is no finite number"},
		{Int24, 1, dsp.Frame{0.5, 0.25}, "left and right differ"},
	} {
		path := filepath.Join(t.TempDir(), "bad.wav")
		file, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		w, err := NewWriter(file, WriteFormat{RateHz: 48000, Channels: c.channels, Sample: c.sample})
		if err != nil {
			t.Fatal(err)
		}
		err = w.Write([]dsp.Frame{{0.5, 0.5}, {0.25, 0.25}, c.bad, {}})
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.bad, err, c.want)
		}
		if w.Write([]dsp.Frame{{}}) == nil || w.Close() == nil || w.Write([]dsp.Frame{{}}) == nil {
			t.Errorf("%v: the error was forgotten", c.bad)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if _, got := pcmtest.Decode(t, Open, b); len(got) != 2 {
			t.Errorf("%v: %d frames in the file, want 2", c.bad, len(got))
		}
	}
}

func ExampleWriter() {
	var out bytes.Buffer
	w, err := NewWriter(&out, WriteFormat{RateHz: 48000, Channels: 2, Sample: Int16, Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	w.Write([]dsp.Frame{{0.25, -0.25}, {0, 1.5}})
	if err := w.Close(); err != nil {
		fmt.Println(err)
	}
	fmt.Println(w.Frames(), "frames,", w.Clipped(), "sample clipped")
	// Output: 2 frames, 1 sample clipped
}

func BenchmarkWrite(b *testing.B) {
	music := pcmtest.Music(1<<16, 48000)
	for s, name := range samples {
		b.Run(name, func(b *testing.B) {
			w, err := NewWriter(io.Discard, WriteFormat{RateHz: 48000, Channels: 2, Sample: s})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				if err := w.Write(music); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(music)), "ns/frame")
		})
	}
}
