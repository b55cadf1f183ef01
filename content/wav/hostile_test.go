package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

var order = binary.LittleEndian

// built is a file made by hand.
type built struct{ bytes []byte }

// head is a file with the given name and size, and no chunk.
func head(id string, size uint32) built {
	return built{append(order.AppendUint32([]byte(id), size), "WAVE"...)}
}

// chunk adds a chunk that states size, whatever its body is. Padding is left
// to the caller.
func (b built) chunk(id string, size uint32, body ...byte) built {
	return built{append(order.AppendUint32(append(bytes.Clone(b.bytes), id...), size), body...)}
}

// format adds a plain format chunk at 48 kHz.
func (b built) format(tag, channels, bits, frameBytes uint16) built {
	return b.chunk("fmt ", 16, fields(tag, channels, uint32(48000), uint32(48000)*uint32(frameBytes), frameBytes, bits)...)
}

// data adds a chunk of n bytes that states so.
func (b built) data(id string, n uint32) built { return b.chunk(id, n, ramp(n)...) }

func ramp(n uint32) []byte {
	all := make([]byte, n)
	for i := range all {
		all[i] = byte(i*7 + 1)
	}
	return all
}

func fields(values ...any) []byte {
	var w bytes.Buffer
	for _, v := range values {
		binary.Write(&w, order, v)
	}
	return w.Bytes()
}

// hand is the beginning of a sound file of 16 bits in stereo.
func hand() built { return head("RIFF", 0).format(1, 2, 16, 4) }

func extensible(bits, valid, frameBytes uint16, guid string) built {
	body := fields(uint16(0xfffe), uint16(2), uint32(48000), uint32(48000)*uint32(frameBytes), frameBytes, bits, uint16(22), valid, uint32(3))
	return head("RIFF", 0).chunk("fmt ", 40, append(body, guid...)...)
}

const (
	guidPCM   = "\x01\x00\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
	guidFloat = "\x03\x00\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
	guidOther = "\x01\x00\x00\x00\x21\x07\xd3\x11\x86\x44\xc8\xc1\xca\x00\x00\x00"
)

// ds64 is the sizes of an RF64 file of 16 bits in stereo.
func ds64(data int64, table ...byte) []byte {
	return append(fields(int64(0), data, data/4, uint32(len(table)/12)), table...)
}

// What is opened, and how many frames come before which end. The error is
// looked for by its beginning; "" is a good end.
var endings = []struct {
	name string
	file built
	want int
	end  string
}{
	{"plain", hand().data("data", 400), 100, ""},
	{"size 0, and nothing said to follow", hand().chunk("data", 0, ramp(400)...), 100, ""},
	{"size 0, and a tag that follows", head("RIFF", 60).format(1, 2, 16, 4).chunk("data", 0).data("LIST", 16), 0, ""},
	{"size never written", hand().chunk("data", 0xffffffff, ramp(400)...), 100, ""},
	{"size never written, rounded down", hand().chunk("data", 0xffffffdc, ramp(400)...), 100, ""},
	{"size never written, of 31 bits", hand().chunk("data", 0x80000000, ramp(400)...), 100, ""},
	{"half a frame at the end", hand().chunk("data", 0xffffffff, ramp(402)...), 100, ""},
	{"a size that holds half a frame", hand().data("data", 402).data("LIST", 4), 100, ""},
	{"a tag behind", hand().data("data", 400).data("LIST", 64), 100, ""},
	{"no sound", hand().data("data", 0), 0, ""},
	{"cut short", hand().chunk("data", 48000*4, ramp(24000*4)...), 24000, "the file ends early: get it again, or save it anew (0.5 s of 1.0 s"},
	{"cut in a frame", hand().chunk("data", 400, ramp(399)...), 99, "the file ends early"},
	{"lying by hours", hand().chunk("data", 0x70000000, ramp(4)...), 1, "the file ends early"},
	{"odd chunk, padded", hand().chunk("LIST", 3, 1, 2, 3, 0).data("data", 400), 100, ""},
	{"odd chunk, not padded", hand().chunk("LIST", 3, 1, 2, 3).data("data", 400), 100, ""},
	{"odd chunk, padded with a letter", hand().chunk("LIST", 3, 1, 2, 3, 'x').data("data", 400), 100, ""},
	{"odd chunk, padded with 0xFF", hand().chunk("LIST", 3, 1, 2, 3, 0xff).data("data", 400), 100, ""},
	{"large chunks before", hand().data("JUNK", 100_000).data("bext", 602).data("data", 400), 100, ""},
	{"RF64", head("RF64", 0xffffffff).chunk("ds64", 28, ds64(400)...).format(1, 2, 16, 4).chunk("data", 0xffffffff, ramp(500)...), 100, ""},
	{"BW64", head("BW64", 0xffffffff).chunk("ds64", 28, ds64(400)...).format(1, 2, 16, 4).chunk("data", 0xffffffff, ramp(500)...), 100, ""},
	{"RF64 with a small size", head("RF64", 0xffffffff).chunk("ds64", 28, ds64(80)...).format(1, 2, 16, 4).chunk("data", 400, ramp(500)...), 100, ""},
	{"RF64 with a large chunk in front", head("RF64", 0xffffffff).chunk("ds64", 40, ds64(400, append([]byte("chna"), fields(int64(64))...)...)...).
		format(1, 2, 16, 4).chunk("chna", 0xffffffff, ramp(64)...).chunk("data", 0xffffffff, ramp(500)...), 100, ""},
	{"RF64 without sizes", head("RF64", 0xffffffff).format(1, 2, 16, 4).chunk("data", 0xffffffff, ramp(400)...), 100, ""},
	{"RF64 of 2^63 bytes", head("RF64", 0xffffffff).chunk("ds64", 28, ds64(math.MaxInt64-1)...).format(1, 2, 16, 4).chunk("data", 0xffffffff, ramp(400)...), 100, "the file ends early"},
	{"RF64 with a table that is not there", head("RF64", 0xffffffff).chunk("ds64", 28, append(ds64(400)[:24], 0xff, 0xff, 0xff, 0xff)...).
		format(1, 2, 16, 4).chunk("data", 0xffffffff, ramp(500)...), 100, ""},
	{"20 bits in 24", extensible(24, 20, 6, guidPCM).data("data", 600), 100, ""},
	{"20 bits", head("RIFF", 0).format(1, 2, 20, 6).data("data", 600), 100, ""},
	{"extensible float", extensible(32, 32, 8, guidFloat).chunk("data", 800, make([]byte, 800)...), 100, ""},
	{"not a number", head("RIFF", 0).format(3, 1, 32, 4).chunk("data", 12, fields(float32(0.5), float32(2), float32(math.NaN()))...), 2, "a sample is not a number"},
	{"infinite", head("RIFF", 0).format(3, 1, 64, 8).chunk("data", 24, fields(0.5, math.Inf(-1), 0.5)...), 1, "a sample is not a number"},
}

func TestEndings(t *testing.T) {
	opens := map[string]pcmtest.Open{"file": Open, "pipe": openPipe}
	for _, c := range endings {
		for name, open := range opens {
			t.Run(c.name+" "+name, func(t *testing.T) {
				src, err := open(bytes.NewReader(c.file.bytes))
				if err != nil {
					t.Fatal(err)
				}
				all, err := pcmtest.All(src, math.MaxInt)
				if len(all) != c.want || c.end == "" && err != nil || c.end != "" && (err == nil || !strings.HasPrefix(err.Error(), c.end)) {
					t.Errorf("%d frames, then %v; want %d, then %q", len(all), err, c.want, c.end)
				}
				pcmtest.CheckHostile(t, open, c.file.bytes)
			})
		}
	}
}

// What is not opened, and what is said.
var refusals = []struct {
	name string
	file built
	want string
}{
	{"nothing", built{}, "the file is empty"},
	{"a letter", built{[]byte("R")}, "the file ends early"},
	{"text", built{[]byte("this is a text, and no sound at all")}, "it is not a WAV file"},
	{"a video", built{[]byte("RIFF\x00\x00\x00\x00AVI LIST\x00\x00\x00\x00")}, "it is not a WAV file"},
	{"only a head", head("RIFF", 36), "it has no sound in it"},
	{"no sound chunk", hand().data("LIST", 40), "it has no sound in it"},
	{"cut in the format", built{hand().bytes[:30]}, "the file ends early"},
	{"no format", head("RIFF", 0).data("data", 400), "its sound is not described"},
	{"a format of 4 bytes", head("RIFF", 0).chunk("fmt ", 4, 1, 0, 2, 0).data("data", 40), "the file is damaged"},
	{"a chunk to beyond the end", hand().chunk("LIST", 0xfffffff0, 1, 2), "it has no sound in it"},
	{"a chunk of 2^63 bytes", head("RF64", 0).chunk("ds64", 40, ds64(4, append([]byte("LIST"), fields(int64(math.MaxInt64))...)...)...).chunk("LIST", 0xffffffff, 1, 2), "it has no sound in it"},
	{"zeros behind the format", hand().chunk("\x00\x00\x00\x00", 0, make([]byte, 64)...), "the file is damaged"},
	{"six channels", head("RIFF", 0).format(1, 6, 24, 18).data("data", 180), "it has 6 channels"},
	{"no channel", head("RIFF", 0).format(1, 0, 16, 0).data("data", 180), "it has 0 channels"},
	{"mu-law", head("RIFF", 0).format(7, 2, 8, 2).data("data", 180), "a WAV file in mu-law is not read"},
	{"A-law", head("RIFF", 0).format(6, 2, 8, 2).data("data", 180), "a WAV file in A-law is not read"},
	{"ADPCM", head("RIFF", 0).format(2, 2, 4, 512).data("data", 512), "a WAV file in ADPCM is not read"},
	{"another codec", head("RIFF", 0).format(0x161, 2, 16, 512).data("data", 512), "a WAV file in codec 353 is not read"},
	{"another sub-format", extensible(16, 16, 4, guidOther).data("data", 180), "a WAV file in codec 0 is not read"},
	{"half an extensible format", head("RIFF", 0).format(0xfffe, 2, 16, 4).data("data", 180), "the file is damaged"},
	{"no bits", head("RIFF", 0).format(1, 2, 0, 0).data("data", 180), "the file is damaged"},
	{"64-bit integers", head("RIFF", 0).format(1, 2, 64, 16).data("data", 160), "samples of 64 bits are not read"},
	{"16-bit floats", head("RIFF", 0).format(3, 2, 16, 4).data("data", 160), "samples of 16 bits are not read"},
	{"frames too large", head("RIFF", 0).format(1, 2, 24, 8).data("data", 160), "frames of 8 bytes cannot hold 24 bits"},
	{"frames too small", head("RIFF", 0).format(1, 2, 16, 0).data("data", 160), "frames of 0 bytes cannot hold 16 bits"},
	{"4 kHz", rate(4000), "a sample rate of 4000 Hz is outside"},
	{"0 Hz", rate(0), "a sample rate of 0 Hz is outside"},
	{"4 GHz", rate(math.MaxUint32), "a sample rate of 4.294967295e+09 Hz is outside"},
}

func rate(rateHz uint32) built {
	f := hand().data("data", 400)
	order.PutUint32(f.bytes[24:], rateHz)
	return f
}

func TestRefusals(t *testing.T) {
	for _, c := range refusals {
		t.Run(c.name, func(t *testing.T) {
			_, err := Open(bytes.NewReader(c.file.bytes))
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Fatalf("%v, want %q", err, c.want)
			}
			pcmtest.CheckHostile(t, Open, c.file.bytes)
			pcmtest.CheckHostile(t, openPipe, c.file.bytes)
		})
	}
}

// Which errors a caller can act on: by another decoder, or by a warning.
func TestErrorKinds(t *testing.T) {
	_, err := Open(bytes.NewReader(head("RIFF", 0).format(7, 2, 8, 2).data("data", 180).bytes))
	if !errors.As(err, new(pcm.Unsupported)) {
		t.Errorf("mu-law: %v is no pcm.Unsupported", err)
	}
	src, err := Open(bytes.NewReader(hand().chunk("data", 800, ramp(400)...).bytes))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pcmtest.All(src, math.MaxInt); !errors.Is(err, pcm.ErrTruncated) {
		t.Errorf("cut short: %v is no pcm.ErrTruncated", err)
	}
	if n := src.Format().Frames; n != 100 {
		t.Errorf("cut short: %d frames foreseen, want those that are there", n)
	}
}

func TestUnreadable(t *testing.T) {
	broken := errors.New("input/output error")
	for n := range int64(600) {
		r := failing{io.MultiReader(io.LimitReader(bytes.NewReader(hand().data("data", 600).bytes), n), errReader{broken})}
		src, err := Open(r)
		if err == nil {
			_, err = pcmtest.All(src, math.MaxInt)
		}
		if !errors.Is(err, broken) {
			t.Fatalf("after %d bytes: %v", n, err)
		}
		pcmtest.CheckSentence(t, err)
	}
}

type failing struct{ io.Reader }

func (failing) Seek(int64, int) (int64, error) { return 0, errors.New("illegal seek") }

type errReader struct{ err error }

func (r errReader) Read([]byte) (int, error) { return 0, r.err }

// A file of three hours takes no more memory than one of a second.
func TestThreeHours(t *testing.T) {
	const n = 3 * 3600 * 48000
	r := io.MultiReader(bytes.NewReader(hand().chunk("data", n*4).bytes), io.LimitReader(zeros{}, n*4))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	src, err := Open(failing{r})
	if err != nil {
		t.Fatal(err)
	}
	var buf [8192]dsp.Frame
	got := 0
	for k, ok := src.Stream(buf[:]); ok; k, ok = src.Stream(buf[:]) {
		got += k
	}
	runtime.ReadMemStats(&after)
	if got != n || src.Err() != nil {
		t.Errorf("%d frames, %v; want %d", got, src.Err(), n)
	}
	if bytes := after.TotalAlloc - before.TotalAlloc; bytes > 1<<18 {
		t.Errorf("%d bytes allocated", bytes)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// FuzzWAV: whatever the bytes, no panic, no allocation out of proportion, an
// end, and a sentence.
func FuzzWAV(f *testing.F) {
	for _, c := range endings {
		f.Add(c.file.bytes[:min(len(c.file.bytes), 2000)])
	}
	for _, c := range refusals {
		f.Add(c.file.bytes[:min(len(c.file.bytes), 2000)])
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		pcmtest.CheckHostile(t, Open, file)
		pcmtest.CheckHostile(t, openPipe, file)
	})
}
