package ogg

import (
	"bytes"
	"encoding/binary"
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

// n is the length of most of the sound here: no multiple of any block.
const n = 100_003

// vorbisFile is sound as libvorbis encodes it.
func vorbisFile(tb testing.TB, frames []dsp.Frame, channels int, rateHz float64, args ...string) []byte {
	args = append([]string{"-Q", "-r", "-B", "16", "-C", fmt.Sprint(channels), "-R", fmt.Sprint(rateHz), "-s", "1", "-o", "-"}, args...)
	return pcmtest.Run(tb, pcmtest.Raw(frames, 16, channels), "oggenc", append(args, "-")...)
}

// opusFile is sound as libopus encodes it.
func opusFile(tb testing.TB, frames []dsp.Frame, channels int, args ...string) []byte {
	args = append([]string{"--quiet", "--serial", "1", "--raw", "--raw-bits", "16", "--raw-rate", "48000", "--raw-chan", fmt.Sprint(channels)}, args...)
	return pcmtest.Run(tb, pcmtest.Raw(frames, 16, channels), "opusenc", append(args, "-", "-")...)
}

// oggdec rounds to 16 bits, and so does the comparison: one step is -90.3 dBFS.
func TestVorbisAgreesWithItsReferenceDecoder(t *testing.T) {
	for _, c := range []struct {
		channels int
		rateHz   float64
		args     []string
	}{
		{2, 44100, nil}, {1, 44100, nil}, {2, 48000, []string{"-q", "9"}}, {2, 22050, []string{"-q", "0"}}, {1, 8000, nil}, {2, 96000, []string{"-q", "6"}},
	} {
		file := vorbisFile(t, pcmtest.Music(n, c.rateHz), c.channels, c.rateHz, c.args...)
		f, got := pcmtest.Decode(t, Open, file)
		if f.Codec != "Vorbis" || f.RateHz != c.rateHz || f.Channels != c.channels || f.Frames != n {
			t.Errorf("format %+v", f)
		}
		want := pcmtest.FromRaw(pcmtest.Run(t, file, "oggdec", "-Q", "-R", "-b", "16", "-e", "0", "-o", "-", "-"), 16, c.channels)
		if db := pcmtest.WorstDB(t, got, want); db > -90 {
			t.Errorf("%d channels at %g Hz: differs from oggdec by %.1f dBFS", c.channels, c.rateHz, db)
		} else {
			t.Logf("%d channels at %g Hz: differs from oggdec by %.1f dBFS at most", c.channels, c.rateHz, db)
		}
	}
}

// Music at these rates is coded without the speech modes of Opus.
func TestOpusAgreesWithItsReferenceDecoder(t *testing.T) {
	for _, c := range []struct {
		channels int
		args     []string
	}{
		{2, []string{"--bitrate", "160", "--music"}}, {1, []string{"--bitrate", "96", "--music"}},
		{2, []string{"--bitrate", "96", "--framesize", "5", "--music"}}, {2, []string{"--bitrate", "256", "--framesize", "60", "--music"}},
	} {
		file := opusFile(t, pcmtest.Music(n, 48000), c.channels, c.args...)
		f, got := pcmtest.Decode(t, Open, file)
		if f.Codec != "Opus" || f.RateHz != 48000 || f.Channels != c.channels || f.Frames != n {
			t.Errorf("format %+v", f)
		}
		want := pcmtest.FromFloats(pcmtest.Run(t, file, "opusdec", "--quiet", "--float", "--rate", "48000", "--force-stereo", "-", "-"), 2)
		db := pcmtest.WorstDB(t, got, want)
		t.Logf("%d channels, %v: differs from opusdec by %.1f dBFS at most", c.channels, c.args, db)
		if db > -100 {
			t.Errorf("%d channels, %v: differs from opusdec by %.1f dBFS", c.channels, c.args, db)
		}
	}
}

// What is heard must begin and end with what was encoded, to the frame.
func TestSoundIsInItsPlace(t *testing.T) {
	music := pcmtest.Music(n, 48000)
	for name, file := range map[string][]byte{
		"Vorbis": vorbisFile(t, music, 2, 48000, "-q", "8"), "Opus": opusFile(t, music, 2, "--bitrate", "256", "--music"),
	} {
		_, got := pcmtest.Decode(t, Open, file)
		if len(got) != n {
			t.Errorf("%s: %d frames, want %d", name, len(got), n)
		}
		if lag := pcmtest.Lag(got, music, 700); lag != 0 {
			t.Errorf("%s: the sound comes %d frames late", name, lag)
		}
	}
}

func TestOvershootIsKept(t *testing.T) {
	// A square wave of full scale: what is left of it has peaks far above.
	square := make([]dsp.Frame, 48000)
	for i := range square {
		square[i] = dsp.Frame{0.999, -0.999}
		if i/100%2 == 1 {
			square[i] = dsp.Frame{-0.999, 0.999}
		}
	}
	for name, file := range map[string][]byte{"Vorbis": vorbisFile(t, square, 2, 48000, "-q", "0"), "Opus": opusFile(t, square, 2, "--bitrate", "48", "--music")} {
		_, got := pcmtest.Decode(t, Open, file)
		peak := func(frames []dsp.Frame) (peak float64) {
			for _, f := range frames {
				peak = max(peak, math.Abs(f[0]))
			}
			return peak
		}
		want := peak(pcmtest.FromFloats(pcmtest.Run(t, file, "ffmpeg", "-nostdin", "-v", "error", "-i", "-", "-f", "f32le", "-"), 2))
		if p := peak(got); p < 1.02 || math.Abs(dsp.ToDB(p/want)) > 0.1 {
			t.Errorf("%s: the greatest peak is %+.2f dBFS, ffmpeg has %+.2f", name, dsp.ToDB(p), dsp.ToDB(want))
		}
	}
}

// pages splits a file into its pages.
func pages(t *testing.T, file []byte) (all [][]byte) {
	for len(file) > 0 {
		_, size, err := parsePage(file)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, file[:size:size])
		file = file[size:]
	}
	return all
}

// sealed is page with its checksum made right again.
func sealed(page []byte) []byte {
	binary.LittleEndian.PutUint32(page[22:], checksum(page))
	return page
}

func TestOpusHeaderGainIsApplied(t *testing.T) {
	file := opusFile(t, pcmtest.Music(20_000, 48000), 2, "--music")
	_, want := pcmtest.Decode(t, Open, file)
	all := pages(t, file)
	gainDB := -6.5
	binary.LittleEndian.PutUint16(all[0][28+16:], uint16(int16(math.Round(gainDB*256))))
	sealed(all[0])
	_, got := pcmtest.Decode(t, Open, file)
	for i := range want {
		want[i][0] *= math.Pow(10, -6.5/20)
		want[i][1] *= math.Pow(10, -6.5/20)
	}
	if db := pcmtest.WorstDB(t, got, want); db > -200 {
		t.Errorf("differs by %.1f dBFS", db)
	}
}

// A recording cut out of a longer stream keeps the high positions of that.
func TestStreamThatBeginsLate(t *testing.T) {
	file := vorbisFile(t, pcmtest.Music(n, 44100), 2, 44100)
	_, want := pcmtest.Decode(t, Open, file)
	for _, p := range pages(t, file)[2:] {
		g := binary.LittleEndian.Uint64(p[6:])
		binary.LittleEndian.PutUint64(p[6:], g+1e9)
		sealed(p)
	}
	f, got := pcmtest.Decode(t, Open, file)
	if db := pcmtest.WorstDB(t, got, want); f.Frames != n || db > -200 {
		t.Errorf("%d frames stated, differs by %.1f dBFS", f.Frames, db)
	}
}

// Two streams side by side, as in a film: the first sound is taken.
func TestStreamsSideBySide(t *testing.T) {
	one, two := vorbisFile(t, pcmtest.Music(n, 44100), 2, 44100), opusFile(t, pcmtest.Music(n, 48000), 2)
	_, want := pcmtest.Decode(t, Open, one)
	a, b := pages(t, one), pages(t, two)
	for _, p := range b {
		binary.LittleEndian.PutUint32(p[14:], 77)
		sealed(p)
	}
	film := append(bytes.Clone(a[0]), b[0]...)
	for i := 1; i < max(len(a), len(b)); i++ {
		if i < len(b) {
			film = append(film, b[i]...)
		}
		if i < len(a) {
			film = append(film, a[i]...)
		}
	}
	_, got := pcmtest.Decode(t, Open, film)
	if db := pcmtest.WorstDB(t, got, want); db > -200 {
		t.Errorf("differs by %.1f dBFS", db)
	}
}

func TestEnds(t *testing.T) {
	file := vorbisFile(t, pcmtest.Music(n, 44100), 2, 44100)
	all := pages(t, file)
	middle := slices.Concat(all[:len(all)/2]...)
	cases := []struct {
		name string
		file []byte
		err  error
	}{
		{"whole", file, nil},
		{"a tag behind", append(bytes.Clone(file), "TAG"...), nil},
		{"between two pages", middle, nil}, // as a recording of a radio stream ends
		{"within a page", file[:len(file)-100], pcm.ErrTruncated},
		{"a page is missing", slices.Concat(slices.Concat(all[:4]...), slices.Concat(all[5:]...)), pcm.ErrDamaged},
		{"two in a row", append(bytes.Clone(file), file...), errChained},
		{"two in a row, the first cut", append(bytes.Clone(middle), file...), errChained},
	}
	for _, c := range cases {
		src, err := Open(bytes.NewReader(c.file))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		frames, err := pcmtest.All(src, math.MaxInt)
		if !errors.Is(err, c.err) || len(frames) < n/4 {
			t.Errorf("%s: %d frames, %v; want %v", c.name, len(frames), err, c.err)
		}
	}
}

func TestRefused(t *testing.T) {
	dir := t.TempDir()
	six := filepath.Join(dir, "six.ogg")
	pcmtest.Run(t, make([]byte, 12*48000), "ffmpeg", "-nostdin", "-v", "error", "-f", "s16le", "-ac", "6", "-i", "-", "-c:a", "libvorbis", six)
	surround, err := os.ReadFile(six)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(bytes.NewReader(surround)); err == nil || errors.As(err, new(pcm.Unsupported)) {
		t.Errorf("six channels: %v", err)
	}
	other := pcmtest.Run(t, make([]byte, 4*48000), "flac", "-s", "-c", "--ogg", "--force-raw-format", "--endian=little", "--sign=signed",
		"--bps=16", "--channels=2", "--sample-rate=48000", "-")
	_, err = Open(bytes.NewReader(other))
	if !errors.As(err, new(pcm.Unsupported)) {
		t.Errorf("FLAC in Ogg: %v", err)
	} else {
		pcmtest.CheckSentence(t, err)
	}
}

// Headers that would make the decoder take gigabytes or never return.
func TestHostileSetup(t *testing.T) {
	file := vorbisFile(t, pcmtest.Music(20_000, 44100), 2, 44100)
	ps := packets{}
	all := pages(t, file)
	p, _, _ := parsePage(all[1])
	setup := ps.split(p)[1]
	if err := checkSetup(setup); err != nil {
		t.Fatalf("the setup of libvorbis is refused: %v", err)
	}
	huge := append([]byte("\x05vorbis\x00BCV"), 0xff, 0xff, 0xff, 0xff, 0xff) // 65535 x 2^24 entries
	none := append([]byte("\x05vorbis\x00BCV"), 0, 0, 8, 0, 0, 0, 0, 0, 0)    // no dimension
	for _, packet := range [][]byte{nil, huge, none, setup[:len(setup)/2]} {
		if checkSetup(packet) == nil {
			t.Errorf("%d bytes are accepted", len(packet))
		}
	}
}

// resealed is file with every checksum made right, as far as it has pages:
// else damage would never come further than the checksum.
func resealed(file []byte) []byte {
	v := bytes.Clone(file)
	for at := 0; at+headBytes <= len(v); {
		if string(v[at:at+4]) != "OggS" || at+headBytes+int(v[at+26]) > len(v) {
			break
		}
		size := headBytes + int(v[at+26])
		for _, l := range v[at+headBytes : at+size] {
			size += int(l)
		}
		if at+size > len(v) {
			break
		}
		sealed(v[at : at+size])
		at += size
	}
	return v
}

func TestHostile(t *testing.T) {
	music := pcmtest.Music(12_000, 48000)
	for _, file := range [][]byte{vorbisFile(t, music, 2, 48000), vorbisFile(t, music, 1, 48000), opusFile(t, music, 2), opusFile(t, music, 1, "--bitrate", "12", "--speech")} {
		for _, v := range append(pcmtest.Damage(file, 150), nil, []byte("OggS")) {
			pcmtest.CheckHostile(t, Open, v)
			pcmtest.CheckHostile(t, Open, resealed(v))
		}
	}
}

func FuzzOpen(f *testing.F) {
	music := pcmtest.Music(4_000, 48000)
	f.Add(vorbisFile(f, music, 2, 48000))
	f.Add(opusFile(f, music, 2))
	f.Add(opusFile(f, music, 1, "--bitrate", "12", "--speech"))
	f.Fuzz(func(t *testing.T, file []byte) {
		pcmtest.CheckHostile(t, Open, file)
		pcmtest.CheckHostile(t, Open, resealed(file))
	})
}

func BenchmarkDecode(b *testing.B) {
	music := pcmtest.Music(n, 48000)
	for name, file := range map[string][]byte{"Vorbis": vorbisFile(b, music, 2, 48000, "-q", "6"), "Opus": opusFile(b, music, 2, "--bitrate", "160")} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				pcmtest.Decode(b, Open, file)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
		})
	}
}
