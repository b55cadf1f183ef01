package content

import (
	"context"
	"errors"
	"math"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"strop/content/pcm"
	"strop/dsp"
)

// tape is a pcm.Source that plays frames from memory.
type tape struct {
	frames []dsp.Frame
	rateHz float64
	stated int64         // length it claims, 0: the true one
	err    error         // told at the end
	pause  time.Duration // before each block
	closed chan struct{}
}

var _ pcm.Source = (*tape)(nil)

func (s *tape) Format() pcm.Format {
	n := s.stated
	if n == 0 {
		n = int64(len(s.frames))
	}
	return pcm.Format{Container: "WAV", Codec: "PCM", RateHz: s.rateHz, Channels: 2, Bits: 24, Frames: n}
}

func (s *tape) Stream(buf [][2]float64) (int, bool) {
	time.Sleep(s.pause)
	n := copy(buf, s.frames)
	s.frames = s.frames[n:]
	return n, n > 0
}

func (s *tape) Err() error { return s.err }

func (s *tape) Close() error {
	if s.closed != nil {
		close(s.closed)
	}
	return nil
}

// ramp is frames that say where they are, exact in 24 bits.
func ramp(n int) []dsp.Frame {
	frames := make([]dsp.Frame, n)
	for i := range frames {
		frames[i] = dsp.Frame{float64(i) / (1 << 23), -float64(i) / (1 << 23)}
	}
	return frames
}

func mustStart(t testing.TB, src pcm.Source) *Material {
	t.Helper()
	m, err := Start(t.Context(), "song.wav", "hash", src)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func mustDecode(t testing.TB, frames []dsp.Frame, rateHz float64) *Material {
	t.Helper()
	m := mustStart(t, &tape{frames: frames, rateHz: rateHz})
	if err := m.Wait(t.Context()); err != nil {
		t.Fatal(err)
	}
	return m
}

func TestMaterialKeepsEveryFrame(t *testing.T) {
	want := ramp(3*chunkFrames + 17)
	m := mustDecode(t, want, 48000)
	got := make([]dsp.Frame, len(want)+5)
	if n := m.Frames(got, 0); n != len(want) {
		t.Fatalf("%d frames, want %d", n, len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("frame %d is %v, want %v", i, got[i], want[i])
		}
	}
	for _, start := range []int64{-1, int64(len(want)), math.MaxInt64} {
		if n := m.Frames(got, start); n != 0 {
			t.Errorf("%d frames at %d", n, start)
		}
	}
	if n := m.Frames(got[:100], chunkFrames-50); n != 100 || got[50] != want[chunkFrames] {
		t.Errorf("across a chunk: %d frames, %v", n, got[50])
	}
	if done, total := m.Progress(); done != int64(len(want)) || total != done || m.Err() != nil {
		t.Errorf("progress %d of %d, %v", done, total, m.Err())
	}
}

// Readers ask while frames come; the race detector watches.
func TestMaterialWhileDecoding(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		want := ramp(4 * chunkFrames)
		m := mustStart(t, &tape{frames: want, rateHz: 48000, pause: time.Millisecond})
		if done, total := m.Progress(); done != 0 || total != 4*chunkFrames {
			t.Errorf("at first %d of %d", done, total)
		}
		var readers sync.WaitGroup
		for range 3 {
			readers.Go(func() {
				buf := make([]dsp.Frame, 1000)
				for at := int64(0); at < 4*chunkFrames; at += 1000 {
					if err := m.WaitFrames(t.Context(), at+1); err != nil {
						t.Error(err)
					}
					if n := m.Frames(buf, at); n == 0 || buf[n-1] != want[at+int64(n)-1] {
						t.Errorf("at %d: %d frames", at, n)
						return
					}
				}
			})
		}
		if err := m.WaitFrames(t.Context(), 1); err != nil {
			t.Error(err)
		}
		if done, _ := m.Progress(); done != chunkFrames {
			t.Errorf("the first frames are there after %d frames, want one chunk", done)
		}
		readers.Wait()
		if err := m.Wait(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestMaterialEndsEarly(t *testing.T) {
	bad := ramp(2 * 48000)
	bad[48000] = dsp.Frame{math.NaN(), 0}
	huge := ramp(2 * 48000)
	huge[48000] = dsp.Frame{0, 1e300}
	for _, c := range []struct {
		name   string
		src    *tape
		frames int64
		want   string
	}{
		{"truncated", &tape{frames: ramp(63 * 48000), rateHz: 48000, stated: 1 << 50, err: errors.New("the data ends in the middle of a block")},
			63 * 48000, "song.wav: only the first 1:03 can be used: the data ends in the middle of a block"},
		{"NaN", &tape{frames: bad, rateHz: 48000}, 48000, "song.wav: only the first 0:01 can be used: a sample is not a number: the file is damaged there"},
		{"beyond 32 bits", &tape{frames: huge, rateHz: 48000}, 48000, "song.wav: only the first 0:01 can be used: a sample is not a number: the file is damaged there"},
		{"empty", &tape{rateHz: 48000}, 0, "song.wav: there is no sound in it: choose another file"},
		{"broken at once", &tape{rateHz: 48000, err: errors.New("the header is damaged")}, 0, "song.wav: nothing of it can be used: the header is damaged"},
	} {
		c.src.closed = make(chan struct{})
		m := mustStart(t, c.src)
		err := m.Wait(t.Context())
		if (err != nil) != (c.frames == 0) {
			t.Errorf("%s: Wait says %v", c.name, err)
		}
		if m.Err() == nil || m.Err().Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, m.Err(), c.want)
		}
		if done, total := m.Progress(); done != c.frames || total != done {
			t.Errorf("%s: %d frames of %d, want %d", c.name, done, total, c.frames)
		}
		<-c.src.closed
	}
}

func TestMaterialTooLong(t *testing.T) {
	for _, extra := range []int{0, 1, 5000, 3 * chunkFrames} {
		m, err := start(t.Context(), "song.wav", "", &tape{frames: ramp(80000 + extra), rateHz: 8000}, 80000)
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Wait(t.Context()); err != nil {
			t.Fatal(err)
		}
		if done, _ := m.Progress(); done != 80000 {
			t.Errorf("%d over: %d frames", extra, done)
		}
		if told := m.Err() != nil && strings.Contains(m.Err().Error(), "only the first 0:10 can be used: it is too long"); told != (extra > 0) {
			t.Errorf("%d over: %v", extra, m.Err())
		}
	}
}

func TestMaterialIsCancelled(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		src := &tape{frames: ramp(100 * chunkFrames), rateHz: 48000, pause: time.Millisecond, closed: make(chan struct{})}
		m, err := Start(ctx, "song.wav", "", src)
		if err != nil {
			t.Fatal(err)
		}
		if err := m.WaitFrames(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
		cancel()
		<-src.closed
		if done, _ := m.Progress(); done == 0 || done > 2*chunkFrames || !errors.Is(m.Err(), context.Canceled) {
			t.Errorf("%d frames, %v", done, m.Err())
		}
		impatient, stop := context.WithTimeout(t.Context(), time.Millisecond)
		defer stop()
		slow := mustStart(t, &tape{frames: ramp(9), rateHz: 48000, pause: time.Second})
		if err := slow.Wait(impatient); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("Wait: %v", err)
		}
		if err := slow.Wait(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestMaterialRefusesRates(t *testing.T) {
	for _, rateHz := range []float64{0, -1, 7999, 1e9, math.NaN(), math.Inf(1)} {
		src := &tape{frames: ramp(9), rateHz: rateHz, closed: make(chan struct{})}
		if _, err := Start(t.Context(), "song.wav", "", src); err == nil {
			t.Errorf("%g Hz was taken", rateHz)
		}
		<-src.closed
	}
}

// 8 bytes a frame, so 691 MB for MaxFrames, and never by what a header says.
func TestMaterialMemory(t *testing.T) {
	frames := ramp(120 * 48000)
	before := heapBytes()
	m := mustStart(t, &tape{frames: frames, rateHz: 48000, stated: 1 << 60})
	if err := m.Wait(t.Context()); err != nil {
		t.Fatal(err)
	}
	grew := heapBytes() - before
	if bound := int64(8*len(frames) + 2*8*chunkFrames); grew > bound || grew < int64(8*len(frames)) {
		t.Errorf("two minutes take %d bytes, bound %d", grew, bound)
	}
	runtime.KeepAlive(frames)
	runtime.KeepAlive(m)
	if MaxFrames*8 != 691_200_000 {
		t.Errorf("MaxFrames take %d bytes", MaxFrames*8)
	}
}

func heapBytes() int64 {
	var s runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&s)
	return int64(s.HeapAlloc)
}
