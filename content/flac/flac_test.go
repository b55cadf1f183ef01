package flac

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/mewkiz/flac"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// encode is frames as the reference encoder writes them.
func encode(tb testing.TB, frames []dsp.Frame, bits, channels int, rateHz float64, args ...string) []byte {
	args = append([]string{"--silent", "--stdout", "--force-raw-format", "--endian=little", "--sign=signed",
		fmt.Sprint("--bps=", bits), fmt.Sprint("--channels=", channels), fmt.Sprint("--sample-rate=", rateHz)}, args...)
	return pcmtest.Run(tb, pcmtest.Raw(frames, bits, channels), "flac", append(args, "-")...)
}

func TestExactlyWhatWasEncoded(t *testing.T) {
	for _, c := range []struct {
		bits, channels int
		rateHz         float64
		args           []string
	}{
		{16, 2, 44100, nil}, {16, 1, 48000, nil}, {24, 2, 96000, []string{"-8"}}, {24, 1, 44100, []string{"-0"}},
		{8, 2, 22050, nil}, {8, 1, 8000, nil}, {24, 2, 192000, []string{"--lax", "-b", "8192"}},
		{16, 2, 12345, []string{"-5", "--lax"}},
	} {
		t.Run(fmt.Sprintf("%d bits, %d channels, %g Hz", c.bits, c.channels, c.rateHz), func(t *testing.T) {
			raw := pcmtest.Raw(pcmtest.Music(30_011, c.rateHz), c.bits, c.channels)
			want := pcmtest.FromRaw(raw, c.bits, c.channels)
			file := encode(t, want, c.bits, c.channels, c.rateHz, c.args...)
			f, got := pcmtest.Decode(t, Open, file)
			if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
				t.Errorf("differs by %.1f dBFS", db)
			}
			// Written to a pipe, the header cannot state the length.
			if f.RateHz != c.rateHz || f.Bits != c.bits || f.Channels != c.channels {
				t.Errorf("format %+v", f)
			}
			back := pcmtest.FromRaw(pcmtest.Run(t, file, "flac", "-d", "-s", "-c", "--force-raw-format", "--endian=little", "--sign=signed", "-"), c.bits, c.channels)
			if db := pcmtest.WorstDB(t, got, back); !math.IsInf(db, -1) {
				t.Errorf("differs from flac -d by %.1f dBFS", db)
			}
		})
	}
}

// The files that come with the library were made by others with the reference
// encoder, which wrote the MD5 of the sound into their header.
func TestRealFilesHaveTheirMD5(t *testing.T) {
	dir := pcmtest.ModuleDir(t, "github.com/mewkiz/flac")
	names, _ := filepath.Glob(filepath.Join(dir, "testdata", "*.flac"))
	checked := 0
	for _, name := range names {
		file, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		header, err := flac.New(bytes.NewReader(file))
		if err != nil || header.Info.MD5sum == [16]byte{} {
			continue
		}
		src, err := Open(bytes.NewReader(file))
		if err != nil {
			if header.Info.NChannels <= 2 {
				t.Errorf("%s: %v", filepath.Base(name), err)
			}
			continue
		}
		frames, err := pcmtest.All(src, math.MaxInt)
		if err != nil {
			if !errors.Is(err, pcm.ErrTruncated) {
				t.Errorf("%s: %v", filepath.Base(name), err)
			}
			continue
		}
		checked++
		if int64(len(frames)) != src.Format().Frames || sum(frames, src.Format()) != header.Info.MD5sum {
			t.Errorf("%s: %d frames do not have the MD5 of the header", filepath.Base(name), len(frames))
		}
	}
	t.Logf("%d of %d files checked", checked, len(names))
	if checked < 10 {
		t.Errorf("only %d of %d files could be checked", checked, len(names))
	}
}

// sum is the MD5 as RFC 9639, section 8.2, defines it.
func sum(frames []dsp.Frame, f pcm.Format) (sum [16]byte) {
	h := md5.New()
	for _, fr := range frames {
		for ch := range f.Channels {
			v := uint32(int32(fr[ch] * math.Ldexp(1, f.Bits-1)))
			h.Write(binary.LittleEndian.AppendUint32(nil, v)[:(f.Bits+7)/8])
		}
	}
	h.Sum(sum[:0])
	return sum
}

// stated is file with another length in its header: 36 bits from bit 4 of byte
// 21 on, RFC 9639, section 8.2.
func stated(file []byte, frames uint64) []byte {
	v := bytes.Clone(file)
	v[21] = v[21]&0xf0 | byte(frames>>32)
	binary.BigEndian.PutUint32(v[22:], uint32(frames))
	return v
}

func TestLengthThatLies(t *testing.T) {
	file := encode(t, pcmtest.Music(20_000, 44100), 16, 2, 44100)
	for _, c := range []struct {
		stated uint64
		want   int
		err    error
	}{
		{20_000, 20_000, nil}, {0, 20_000, nil}, {20_001, 20_000, pcm.ErrTruncated},
		{1<<36 - 1, 20_000, pcm.ErrTruncated}, {4096, 4096, nil},
	} {
		src, err := Open(bytes.NewReader(stated(file, c.stated)))
		if err != nil {
			t.Fatal(err)
		}
		if want := int64(c.stated); src.Format().Frames != want && want != 0 {
			t.Errorf("stated %d, format says %d", c.stated, src.Format().Frames)
		}
		frames, err := pcmtest.All(src, math.MaxInt)
		if len(frames) != c.want || !errors.Is(err, c.err) {
			t.Errorf("stated %d: %d frames, %v; want %d, %v", c.stated, len(frames), err, c.want, c.err)
		}
	}
}

func TestTagsBeforeAndBehind(t *testing.T) {
	file := stated(encode(t, pcmtest.Music(9_000, 44100), 16, 2, 44100), 9000)
	_, want := pcmtest.Decode(t, Open, file)
	tagged := append([]byte("ID3\x04\x00\x00\x00\x00\x00\x03abc"), file...)
	tagged = append(tagged, "TAG"+string(make([]byte, 125))...)
	_, got := pcmtest.Decode(t, Open, tagged)
	if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
		t.Errorf("differs by %.1f dBFS", db)
	}
}

func TestRefused(t *testing.T) {
	six := make([]byte, 6*3*5000)
	surround := pcmtest.Run(t, six, "flac", "-s", "-c", "--force-raw-format", "--endian=little", "--sign=signed",
		"--bps=24", "--channels=6", "--sample-rate=48000", "-")
	if _, err := Open(bytes.NewReader(surround)); err == nil {
		t.Error("six channels were accepted")
	}
	wide := encode(t, pcmtest.Music(100, 44100), 16, 2, 44100)
	wide[20] |= 1 // STREAMINFO: bits-1 is one bit here and four in the next byte
	wide[21] |= 0xf0
	_, err := Open(bytes.NewReader(wide))
	if !errors.As(err, new(pcm.Unsupported)) {
		t.Errorf("32 bits: %v", err)
	}
}

func TestHostile(t *testing.T) {
	file := encode(t, pcmtest.Music(20_000, 44100), 16, 2, 44100)
	cases := append(pcmtest.Damage(file, 200), nil, []byte("fLaC"), []byte("no sound at all"), stated(file, 1<<36-1))
	for _, c := range cases {
		pcmtest.CheckHostile(t, Open, c)
	}
}

func FuzzOpen(f *testing.F) {
	file := encode(f, pcmtest.Music(3_000, 44100), 16, 2, 44100)
	f.Add(file)
	f.Add(encode(f, pcmtest.Music(2_000, 44100), 24, 1, 44100, "-0"))
	for _, v := range pcmtest.Damage(file, 8) {
		f.Add(v)
	}
	f.Fuzz(func(t *testing.T, file []byte) { pcmtest.CheckHostile(t, Open, file) })
}

func BenchmarkDecode(b *testing.B) {
	const n = 200_000
	file := encode(b, pcmtest.Music(n, 44100), 24, 2, 44100)
	for b.Loop() {
		pcmtest.Decode(b, Open, file)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
}
