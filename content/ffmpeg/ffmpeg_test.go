package ffmpeg

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

const n = 60_001

// encode encodes music by ffmpeg, from 24 bits, and is the path of the file.
func encode(tb testing.TB, frames []dsp.Frame, channels int, rateHz float64, name string, args ...string) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), name)
	args = append([]string{"-nostdin", "-v", "error", "-f", "s24le", "-ac", fmt.Sprint(channels), "-ar", fmt.Sprint(rateHz), "-i", "-"}, args...)
	pcmtest.Run(tb, pcmtest.Raw(frames, 24, channels), "ffmpeg", append(args, path)...)
	return path
}

func decode(tb testing.TB, path string) (pcm.Format, []dsp.Frame) {
	tb.Helper()
	s, err := Open(tb.Context(), path)
	if err != nil {
		tb.Fatal(err)
	}
	defer s.Close()
	all, err := pcmtest.All(s, math.MaxInt)
	if err != nil {
		tb.Fatal(err)
	}
	return s.Format(), all
}

// Lossless formats must come back exactly: 24 bits fit into a 32-bit float.
func TestLosslessComesBackExactly(t *testing.T) {
	for _, c := range []struct {
		name     string
		channels int
		rateHz   float64
		args     []string
	}{
		{"a.m4a", 2, 44100, []string{"-c:a", "alac"}}, {"a.m4a", 1, 48000, []string{"-c:a", "alac"}},
		{"a.wv", 2, 96000, nil}, {"a.caf", 2, 44100, []string{"-c:a", "pcm_s24le"}}, {"a file: 100%d 'x'.mkv", 2, 48000, []string{"-c:a", "flac"}},
	} {
		want := pcmtest.FromRaw(pcmtest.Raw(pcmtest.Music(n, c.rateHz), 24, c.channels), 24, c.channels)
		f, got := decode(t, encode(t, want, c.channels, c.rateHz, c.name, c.args...))
		if f.RateHz != c.rateHz || f.Channels != c.channels || f.Frames != -1 {
			t.Errorf("%s: format %+v", c.name, f)
		}
		if db := pcmtest.WorstDB(t, got, want); !math.IsInf(db, -1) {
			t.Errorf("%s: differs by %.1f dBFS", c.name, db)
		}
	}
}

func TestAACIsInItsPlace(t *testing.T) {
	music := pcmtest.Music(n, 44100)
	_, got := decode(t, encode(t, music, 2, 44100, "a.m4a", "-c:a", "aac", "-b:a", "256k"))
	if lag := pcmtest.Lag(got, music, 1300); lag != 0 {
		t.Errorf("the sound comes %d frames late", lag)
	}
}

func TestOvershootIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.caf")
	pcmtest.Run(t, nil, "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", "aevalsrc=3*sin(1000*t):d=1", "-c:a", "pcm_f32le", path)
	_, got := decode(t, path)
	peak := slices.MaxFunc(got, func(a, b dsp.Frame) int { return int(1e6 * (a[0] - b[0])) })
	if math.Abs(peak[0]-3) > 0.01 {
		t.Errorf("the peak is %.3f, want 3", peak[0])
	}
}

func TestErrors(t *testing.T) {
	music := pcmtest.Music(n, 48000)
	good := encode(t, music, 2, 48000, "a.m4a", "-c:a", "alac")
	file, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, data []byte) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	picture := filepath.Join(t.TempDir(), "a.png")
	pcmtest.Run(t, nil, "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", "color=s=16x16", "-frames:v", "1", picture)
	for name, path := range map[string]string{
		"six channels": encode(t, music, 2, 48000, "six.mka", "-ac", "6", "-c:a", "flac"),
		"truncated":    write("cut.m4a", file[:len(file)/2]),
		"no sound":     write("words.m4a", []byte("these are words")),
		"empty":        write("empty.m4a", nil),
		"a picture":    picture,
		"not there":    filepath.Join(t.TempDir(), "none.m4a"),
	} {
		s, err := Open(t.Context(), path)
		if err == nil {
			s.Close()
			t.Errorf("%s: was accepted", name)
			continue
		}
		pcmtest.CheckSentence(t, err)
		if strings.Contains(err.Error(), filepath.Dir(path)) {
			t.Errorf("%s: the error names the folder: %v", name, err)
		}
	}
}

// Damage in the middle comes out as an error after what could be read.
func TestDamageIsTold(t *testing.T) {
	path := encode(t, pcmtest.Music(10*n, 48000), 2, 48000, "a.wv")
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	clear(file[len(file)/2 : len(file)/2+5000])
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	frames, err := pcmtest.All(s, math.MaxInt)
	if err == nil || len(frames) < n {
		t.Fatalf("%d frames, %v", len(frames), err)
	}
	pcmtest.CheckSentence(t, err)
}

func TestCloseAndCancelEndTheChild(t *testing.T) {
	path := encode(t, pcmtest.Music(40*n, 48000), 2, 48000, "a.wv")
	ctx, cancel := context.WithCancel(t.Context())
	s, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	if _, err := pcmtest.All(s, math.MaxInt); !errors.Is(err, context.Canceled) {
		t.Errorf("after cancel: %v", err)
	}
	s.Close()
	if s, err = Open(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	s.Stream(make([]dsp.Frame, 10))
	s.Close()
	s.Close()
	if s.cmd.ProcessState == nil {
		t.Error("the child was not waited for")
	}
}

func TestMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	if _, err := Open(t.Context(), "a.m4a"); err != ErrMissing || Available() {
		t.Errorf("%v, available: %v", err, Available())
	}
}

func BenchmarkDecode(b *testing.B) {
	path := encode(b, pcmtest.Music(10*n, 44100), 2, 44100, "a.m4a", "-c:a", "aac", "-b:a", "256k")
	for b.Loop() {
		decode(b, path)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*10*n), "ns/frame")
}
