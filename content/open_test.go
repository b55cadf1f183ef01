package content

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"strop/content/ffmpeg"
	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// write is the path of a new file.
func write(tb testing.TB, name string, data []byte) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		tb.Fatal(err)
	}
	return path
}

// encode is raw 16-bit stereo at 44.1 kHz as sox or ffmpeg write it.
func encode(tb testing.TB, frames []dsp.Frame, name string, args ...string) []byte {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), name)
	in := []string{"-nostdin", "-v", "error", "-f", "s16le", "-ac", "2", "-ar", "44100", "-i", "-"}
	pcmtest.Run(tb, pcmtest.Raw(frames, 16, 2), "ffmpeg", append(append(in, args...), path)...)
	data, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return data
}

var formats = []struct {
	name, container string
	args            []string
	limitDB         float64 // difference to what was encoded; lossy codecs are compared elsewhere
}{
	{"a.wav", "WAV", nil, math.Inf(-1)},
	{"a.wav", "RF64", []string{"-rf64", "always"}, math.Inf(-1)},
	{"a.aiff", "AIFF", nil, math.Inf(-1)},
	{"a.flac", "FLAC", nil, math.Inf(-1)},
	{"a.ogg", "Ogg", []string{"-c:a", "libvorbis", "-q:a", "8"}, -6},
	{"a.mp3", "MP3", []string{"-b:a", "256k"}, -6},
	{"a.m4a", "ffmpeg", []string{"-c:a", "alac"}, math.Inf(-1)},
	{"a.wv", "ffmpeg", nil, math.Inf(-1)},
}

// The name of a file says nothing.
func TestFormatIsSeenFromTheContent(t *testing.T) {
	want := pcmtest.FromRaw(pcmtest.Raw(pcmtest.Music(30_000, 44100), 16, 2), 16, 2)
	for _, c := range formats {
		for _, name := range []string{"song.txt", "song.wav", "song"} {
			path := write(t, name, encode(t, want, c.name, c.args...))
			f, err := Open(path)
			if err != nil {
				t.Errorf("%s as %s: %v", c.name, name, err)
				continue
			}
			defer f.Close()
			got, err := pcmtest.All(f, math.MaxInt)
			if err != nil || f.Path() != path || f.Format().Container != c.container || f.Format().RateHz != 44100 {
				t.Errorf("%s as %s: %+v, %v", c.name, name, f.Format(), err)
			}
			if db := pcmtest.WorstDB(t, got, want); db > c.limitDB {
				t.Errorf("%s as %s: differs by %.1f dBFS", c.name, name, db)
			}
		}
	}
}

// statedFLAC is file with another length in its header (RFC 9639, 8.2).
func statedFLAC(file []byte, frames uint64) []byte {
	v := bytes.Clone(file)
	v[21] = v[21]&0xf0 | byte(frames>>32)
	binary.BigEndian.PutUint32(v[22:], uint32(frames))
	return v
}

// Each of these gets one sentence, at once or after the sound that is there.
func TestFilesThatCannotBeUsed(t *testing.T) {
	music := pcmtest.Music(30_000, 44100)
	flac, wav := encode(t, music, "a.flac"), encode(t, music, "a.wav")
	mp3, ogg := encode(t, music, "a.mp3"), encode(t, music, "a.ogg", "-c:a", "libvorbis")
	dir := t.TempDir()
	const threeHours = 3 * 3600 * 44100
	cases := []struct {
		name, path string
		is         error
		frames     int // that must be heard first
	}{
		{"not there", filepath.Join(dir, "none.wav"), fs.ErrNotExist, 0},
		{"a folder", dir, nil, 0},
		{"empty", write(t, "empty.wav", nil), nil, 0},
		{"one byte", write(t, "one.wav", []byte{7}), ErrNotAudio, 0},
		{"words", write(t, "words.wav", []byte("These are words, naïvely named.\n")), ErrNotAudio, 0},
		{"zeros", write(t, "zeros.mp3", make([]byte, 300_000)), ErrNotAudio, 0},
		{"a picture", write(t, "a.flac", pcmtest.Run(t, nil, "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", "color=s=16x16", "-frames:v", "1", "-f", "image2pipe", "-c:v", "png", "-")), ErrNotAudio, 0},
		{"no sound", write(t, "none.wav", encode(t, nil, "none.wav")), nil, 0},
		{"three hours", write(t, "long.flac", statedFLAC(flac, threeHours)), ErrTooLong, 0},
		{"2^36-1 frames", write(t, "long.flac", statedFLAC(flac, 1<<36-1)), ErrTooLong, 0},
		{"FLAC states too much", write(t, "a.flac", statedFLAC(flac, 40_000)), pcm.ErrTruncated, 30_000},
		{"FLAC cut", write(t, "a.flac", flac[:len(flac)*2/3]), pcm.ErrTruncated, 10_000},
		{"WAV cut", write(t, "a.wav", wav[:len(wav)*2/3]), pcm.ErrTruncated, 10_000},
		{"MP3 cut", write(t, "a.mp3", mp3[:len(mp3)*2/3]), pcm.ErrTruncated, 10_000},
		{"Ogg cut", write(t, "a.ogg", ogg[:len(ogg)-50]), pcm.ErrTruncated, 0},
		{"FLAC damaged", write(t, "a.flac", append(append(bytes.Clone(flac[:len(flac)/2]), "damaged"...), flac[len(flac)/2+7:]...)), pcm.ErrDamaged, 5_000},
		{"head only", write(t, "a.flac", flac[:42]), nil, 0},
	}
	for _, c := range cases {
		f, err := Open(c.path)
		n := 0
		if err == nil {
			var frames []dsp.Frame
			frames, err = pcmtest.All(f, math.MaxInt)
			n = len(frames)
			f.Close()
		}
		if err == nil || c.is != nil && !errors.Is(err, c.is) || n < c.frames {
			t.Errorf("%s: %d frames, %v; want %v", c.name, n, err, c.is)
			continue
		}
		t.Logf("%s: %v", c.name, err)
		pcmtest.CheckSentence(t, err)
		if !strings.HasPrefix(err.Error(), filepath.Base(c.path)+": ") || strings.Contains(err.Error(), filepath.Dir(c.path)) {
			t.Errorf("%s: the file is not named by its base name: %v", c.name, err)
		}
	}
}

// Root may read anything, so that the error is made here.
func TestForbiddenFile(t *testing.T) {
	f := &File{path: "/music/song.wav"}
	err := f.named(&fs.PathError{Op: "open", Path: f.path, Err: syscall.EACCES})
	if !errors.Is(err, fs.ErrPermission) || err.Error() != "song.wav: permission denied" {
		t.Error(err)
	}
}

// A header that does not state its length cannot be believed or refused: the
// sound must end all the same.
func TestTooLongWithoutSayingSo(t *testing.T) {
	frames := 8000 * (30*60 + 2)
	file := pcmtest.Run(t, make([]byte, frames), "flac", "-s", "-c", "--force-raw-format", "--endian=little", "--sign=signed",
		"--bps=8", "--channels=1", "--sample-rate=8000", "-")
	f, err := Open(write(t, "long.flac", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n, buf := 0, make([]dsp.Frame, 4096)
	for {
		got, ok := f.Stream(buf)
		n += got
		if !ok {
			break
		}
	}
	if n != 8000*30*60 || !errors.Is(f.Err(), ErrTooLong) {
		t.Errorf("%d frames, %v", n, f.Err())
	}
}

func TestWithoutFFmpeg(t *testing.T) {
	music := pcmtest.Music(3000, 44100)
	m4a, flac := encode(t, music, "a.m4a", "-c:a", "alac"), encode(t, music, "a.flac")
	flac[20] |= 1 // 32 bits (RFC 9639, 8.2)
	flac[21] |= 0xf0
	t.Setenv("PATH", t.TempDir())
	for _, c := range []struct {
		name string
		file []byte
		is   error
		says string
	}{
		{"a.m4a", m4a, ffmpeg.ErrMissing, "needs the ffmpeg program, which was not found"},
		{"a.flac", flac, nil, "save it with 24 bits, or install the ffmpeg program"},
		{"a.bin", []byte{0, 1, 2, 3, 0xfe, 0xff, 0}, ErrNotAudio, "not an audio file"},
	} {
		_, err := Open(write(t, c.name, c.file))
		if err == nil || c.is != nil && !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		pcmtest.CheckSentence(t, err)
	}
}

func TestHostile(t *testing.T) {
	music := pcmtest.Music(8000, 44100)
	for _, c := range formats {
		if c.container == "ffmpeg" {
			continue
		}
		for _, v := range pcmtest.Damage(encode(t, music, c.name, c.args...), 80) {
			pcmtest.CheckHostile(t, sniff, v)
		}
	}
}

func FuzzSniff(f *testing.F) {
	music := pcmtest.Music(3000, 44100)
	for _, c := range formats {
		f.Add(encode(f, music, c.name, c.args...))
	}
	f.Fuzz(func(t *testing.T, file []byte) { pcmtest.CheckHostile(t, sniff, file) })
}

// The value is that of FIPS 180-4's example of one block, "abc".
func TestHash(t *testing.T) {
	got, err := Hash(write(t, "abc", []byte("abc")))
	const want = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if err != nil || got != want {
		t.Errorf("%s, %v; want %s", got, err, want)
	}
	_, err = Hash(filepath.Join(t.TempDir(), "none.wav"))
	if !errors.Is(err, fs.ErrNotExist) || !strings.HasPrefix(err.Error(), "none.wav: ") {
		t.Error(err)
	}
	if _, err = Hash(t.TempDir()); err == nil {
		t.Error("a folder has a hash")
	}
}

func BenchmarkHash(b *testing.B) {
	path := write(b, "a", make([]byte, 10<<20))
	b.SetBytes(10 << 20)
	for b.Loop() {
		if _, err := Hash(path); err != nil {
			b.Fatal(err)
		}
	}
}
