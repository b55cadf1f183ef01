package aiff

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
)

// built is a file made by hand.
type built struct{ bytes []byte }

var order = binary.BigEndian

func head(kind string, size uint32) built {
	return built{append(order.AppendUint32([]byte("FORM"), size), kind...)}
}

// chunk adds a chunk that states size, whatever its body is. Padding is left
// to the caller.
func (b built) chunk(id string, size uint32, body ...byte) built {
	return built{append(order.AppendUint32(append(bytes.Clone(b.bytes), id...), size), body...)}
}

const rate48k = "\x40\x0e\xbb\x80\x00\x00\x00\x00\x00\x00"

func fields(values ...any) []byte {
	var w bytes.Buffer
	for _, v := range values {
		binary.Write(&w, order, v)
	}
	return w.Bytes()
}

// common adds a common chunk at 48 kHz, with a compression if there is one.
func (b built) common(channels uint16, frames uint32, bits uint16, compression string) built {
	body := append(fields(channels, frames, bits), rate48k+compression...)
	if compression != "" {
		body = append(body, 0, 0) // its name for people: none
	}
	return b.chunk("COMM", uint32(len(body)), body...)
}

// sound adds a sound chunk of n bytes after an offset, with so many bytes
// skipped.
func (b built) sound(offset, n uint32) built {
	body := append(fields(offset, uint32(0)), ramp(offset+n)...)
	return b.chunk("SSND", uint32(len(body)), body...)
}

func ramp(n uint32) []byte {
	all := make([]byte, n)
	for i := range all {
		all[i] = byte(i*7 + 1)
	}
	return all
}

func aiff() built { return head("AIFF", 0) }

// What is opened, and how many frames come before which end. The error is
// looked for by its beginning; "" is a good end.
var endings = []struct {
	name string
	file built
	want int
	end  string
}{
	{"plain", aiff().common(2, 100, 16, "").sound(0, 400), 100, ""},
	{"with an offset", aiff().common(2, 100, 16, "").sound(32, 400), 100, ""},
	{"more bytes than frames", aiff().common(2, 100, 16, "").sound(0, 512), 100, ""},
	{"more frames than bytes", aiff().common(2, 100, 16, "").sound(0, 200).chunk("NAME", 4, ramp(4)...), 50, "the file ends early"},
	{"no count of frames", aiff().common(2, 0, 16, "").sound(0, 400), 100, ""},
	{"size never written", aiff().common(2, 0, 16, "").chunk("SSND", 0, make([]byte, 408)...), 100, ""},
	{"size never written, but the count", aiff().common(2, 60, 16, "").chunk("SSND", 0, make([]byte, 408)...), 60, ""},
	{"size never written, all ones", aiff().common(2, 0, 16, "").chunk("SSND", 0xffffffff, make([]byte, 408)...), 100, ""},
	{"no sound", head("AIFF", 100).common(2, 0, 16, "").sound(0, 0).chunk("NAME", 4, ramp(4)...), 0, ""},
	{"cut short", aiff().common(2, 48000, 16, "").chunk("SSND", 48000*4+8, make([]byte, 24000*4+8)...), 24000,
		"the file ends early: get it again, or save it anew (0.5 s of 1.0 s"},
	{"both sizes lie", aiff().common(2, 0x7000000, 16, "").chunk("SSND", 0x70000000, make([]byte, 12)...), 1, "the file ends early"},
	{"odd chunk, padded", aiff().common(2, 100, 16, "").chunk("NAME", 3, 'a', 'b', 'c', 0).sound(0, 400), 100, ""},
	{"odd chunk, not padded", aiff().common(2, 100, 16, "").chunk("NAME", 3, 'a', 'b', 'c').sound(0, 400), 100, ""},
	{"large chunk", aiff().chunk("APPL", 100_000, ramp(100_000)...).common(2, 100, 16, "").sound(0, 400), 100, ""},
	{"mono of 8 bits", aiff().common(1, 100, 8, "").sound(0, 100), 100, ""},
	{"12 bits", aiff().common(2, 100, 12, "").sound(0, 400), 100, ""},
	{"not a number", head("AIFC", 0).common(1, 3, 32, "fl32").chunk("SSND", 20, append(make([]byte, 8), fields(float32(2), float32(math.NaN()), float32(0))...)...), 1, "a sample is not a number"},
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

// Chunks come in any order. A pipe cannot go back.
func TestSoundBeforeDescription(t *testing.T) {
	swapped := aiff().sound(6, 40_000).chunk("NAME", 4, ramp(4)...).common(2, 10_000, 16, "").bytes
	_, want := pcmtest.Decode(t, Open, aiff().common(2, 10_000, 16, "").sound(6, 40_000).bytes)
	_, got := pcmtest.Decode(t, Open, swapped)
	same(t, got, want)
	if _, err := openPipe(bytes.NewReader(swapped)); err == nil || !strings.HasPrefix(err.Error(), "the sound comes before") {
		t.Errorf("in a pipe: %v", err)
	}
}

// Every compression that is none, one frame of it: the values follow from the
// bytes by the definition of the format.
func TestCompressionsThatAreNone(t *testing.T) {
	f32, f64 := fields(float32(1.5), float32(-0.25)), fields(1.5, -0.25)
	for _, c := range []struct {
		name  string
		bits  uint16
		frame []byte
		want  [2]float64
		codec string
	}{
		{"NONE", 16, []byte{0x40, 0, 0x80, 0}, [2]float64{0.5, -1}, "PCM"},
		{"twos", 16, []byte{0x40, 0, 0x80, 0}, [2]float64{0.5, -1}, "PCM"},
		{"sowt", 16, []byte{0, 0x40, 0, 0x80}, [2]float64{0.5, -1}, "PCM"},
		{"sowt", 24, []byte{0, 0, 0x40, 0, 0, 0x80}, [2]float64{0.5, -1}, "PCM"},
		{"raw ", 8, []byte{0xc0, 0}, [2]float64{0.5, -1}, "PCM"},
		{"NONE", 8, []byte{0x40, 0x80}, [2]float64{0.5, -1}, "PCM"},
		{"in24", 16, []byte{0x40, 0, 0, 0x80, 0, 0}, [2]float64{0.5, -1}, "PCM"},
		{"in32", 16, []byte{0x40, 0, 0, 0, 0x80, 0, 0, 0}, [2]float64{0.5, -1}, "PCM"},
		{"fl32", 32, f32, [2]float64{1.5, -0.25}, "float"},
		{"FL32", 16, f32, [2]float64{1.5, -0.25}, "float"},
		{"fl64", 64, f64, [2]float64{1.5, -0.25}, "float"},
		{"FL64", 32, f64, [2]float64{1.5, -0.25}, "float"},
	} {
		t.Run(c.name, func(t *testing.T) {
			body := append(make([]byte, 8), c.frame...)
			file := head("AIFC", 0).common(2, 1, c.bits, c.name).chunk("SSND", uint32(len(body)), body...)
			format, got := pcmtest.Decode(t, Open, file.bytes)
			if len(got) != 1 || got[0] != c.want || format.Codec != c.codec {
				t.Errorf("%v in %s, want %v in %s", got, format.Codec, c.want, c.codec)
			}
		})
	}
}

// What is not opened, and what is said.
var refusals = []struct {
	name string
	file built
	want string
}{
	{"nothing", built{}, "the file is empty"},
	{"text", built{[]byte("this is a text, and no sound at all")}, "it is not an AIFF file"},
	{"a picture", built{[]byte("FORM\x00\x00\x00\x00ILBM")}, "it is not an AIFF file"},
	{"only a head", aiff(), "it has no sound in it"},
	{"no sound", aiff().common(2, 100, 16, ""), "it has no sound in it"},
	{"no description", aiff().sound(0, 400), "its sound is not described"},
	{"cut in the description", built{aiff().common(2, 100, 16, "").bytes[:30]}, "the file ends early"},
	{"a short description", aiff().chunk("COMM", 4, 0, 2, 0, 0).sound(0, 400), "the file is damaged"},
	{"no compression", head("AIFC", 0).common(2, 100, 16, "").sound(0, 400), "the file is damaged"},
	{"an offset beyond the end", aiff().common(2, 100, 16, "").chunk("SSND", 16, append(fields(uint32(0xfffffff0), uint32(0)), ramp(8)...)...), "the file ends early"},
	{"six channels", aiff().common(6, 100, 16, "").sound(0, 1200), "it has 6 channels"},
	{"mu-law", head("AIFC", 0).common(2, 100, 16, "ulaw").sound(0, 200), "an AIFF file in mu-law is not read"},
	{"A-law", head("AIFC", 0).common(2, 100, 16, "ALAW").sound(0, 200), "an AIFF file in A-law is not read"},
	{"ADPCM", head("AIFC", 0).common(2, 100, 16, "ima4").sound(0, 200), "an AIFF file in IMA ADPCM is not read"},
	{"MACE", head("AIFC", 0).common(2, 100, 16, "MAC3").sound(0, 200), `an AIFF file in the compression "MAC3" is not read`},
	{"no letters", head("AIFC", 0).common(2, 100, 16, "\n\x00\xff\x01").sound(0, 200), `an AIFF file in the compression "\n\x00\xff\x01" is not read`},
	{"no bits", aiff().common(2, 100, 0, "").sound(0, 400), "the file is damaged"},
	{"40 bits", aiff().common(2, 100, 40, "").sound(0, 1000), "samples of 40 bits are not read"},
	{"raw of 16 bits", head("AIFC", 0).common(2, 100, 16, "raw ").sound(0, 400), `"raw " samples of 16 bits are not read`},
	{"a rate of 0", rate("\x00\x00"), "a sample rate of 0 Hz is outside"},
	{"a rate below 0", rate("\xc0\x0e"), "a sample rate of -48000 Hz is outside"},
	{"no rate", rate("\xff\xff"), "a sample rate of NaN Hz is outside"},
}

// rate is a file whose rate begins so.
func rate(start string) built {
	return built{bytes.Replace(aiff().common(2, 100, 16, "").sound(0, 400).bytes, []byte(rate48k), []byte(start+rate48k[2:]), 1)}
}

func TestRefusals(t *testing.T) {
	for _, c := range refusals {
		t.Run(c.name, func(t *testing.T) {
			file := c.file.bytes
			if strings.HasPrefix(c.want, "a sample rate of 0 ") {
				file = bytes.Replace(file, []byte("\xbb\x80"), []byte("\x00\x00"), 1)
			}
			_, err := Open(bytes.NewReader(file))
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Fatalf("%v, want %q", err, c.want)
			}
			pcmtest.CheckHostile(t, Open, file)
			pcmtest.CheckHostile(t, openPipe, file)
		})
	}
}

func TestErrorKinds(t *testing.T) {
	_, err := Open(bytes.NewReader(head("AIFC", 0).common(2, 100, 16, "ulaw").sound(0, 200).bytes))
	if !errors.As(err, new(pcm.Unsupported)) {
		t.Errorf("mu-law: %v is no pcm.Unsupported", err)
	}
}

// FuzzAIFF: whatever the bytes, no panic, no allocation out of proportion, an
// end, and a sentence.
func FuzzAIFF(f *testing.F) {
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
