package player_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
	"strop/game/player"
)

// counter is a source that counts what is pulled, and how often it was asked
// to come in again.
type counter struct {
	frames         atomic.Int64
	eased, largest int
}

func (c *counter) pulled() int { return int(c.frames.Load()) }

func (c *counter) Stream(samples [][2]float64) (int, bool) {
	for i := range samples {
		samples[i] = dsp.Frame{float64(c.pulled() + i), -1}
	}
	c.frames.Add(int64(len(samples)))
	c.largest = max(c.largest, len(samples))
	return len(samples), true
}
func (c *counter) Err() error { return nil }
func (c *counter) Ease()      { c.eased++ }

// runFor runs an output for a while of the bubble's clock.
func runFor(out player.Output, src beep.Streamer, d time.Duration) error {
	ctx, cancel := context.WithTimeout(context.Background(), d)
	defer cancel()
	return out.Run(ctx, src)
}

func TestSilentKeepsPace(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, hz := range []float64{8000, 44100, 192000} {
			var c counter
			if err := runFor(player.NewSilent(hz), &c, 10*time.Second+time.Millisecond); err != nil {
				t.Error(err)
			}
			if c.pulled() != int(10*hz) {
				t.Errorf("%g Hz: %d frames in 10 s", hz, c.pulled())
			}
			if c.largest > 512 {
				t.Errorf("%g Hz: a block of %d frames", hz, c.largest)
			}
		}
	})
}

// sleeper is a source during whose second the machine sleeps for an hour.
type sleeper struct {
	counter
	slept bool
}

func (s *sleeper) Stream(samples [][2]float64) (int, bool) {
	if s.pulled() >= 8000 && !s.slept {
		s.slept = true
		time.Sleep(time.Hour)
	}
	return s.counter.Stream(samples)
}

// An hour of the machine's sleep is not made up for.
func TestSilentAfterSleep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var s sleeper
		_ = runFor(player.NewSilent(8000), &s, time.Hour+3*time.Second)
		if s.pulled() < 3*8000-200 || s.pulled() > 3*8000+200 {
			t.Errorf("%d frames in 3 s awake", s.pulled())
		}
	})
}

// device is a sound card that can be unplugged.
type device struct {
	rateHz float64
	fails  time.Duration // 0: never
	closed bool
}

func (d *device) RateHz() float64 { return d.rateHz }
func (d *device) Close() error    { d.closed = true; return nil }
func (d *device) Run(ctx context.Context, src beep.Streamer) error {
	if d.closed {
		return errors.New("runs after Close")
	}
	if d.fails > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, d.fails)
		defer cancel()
	}
	err := player.NewSilent(d.rateHz).Run(ctx, src)
	if d.fails > 0 && errors.Is(ctx.Err(), context.DeadlineExceeded) {
		return errors.New("the sound device is gone")
	}
	return err
}

// cards yields the devices in order, nil standing for no device.
func cards(all ...*device) func() (player.Output, error) {
	return func() (player.Output, error) {
		if len(all) == 0 || all[0] == nil {
			all = all[min(1, len(all)):]
			return nil, errors.New("there is no sound device")
		}
		d := all[0]
		all = all[1:]
		return d, nil
	}
}

func says(t *testing.T, f *player.Fallback, part string) {
	t.Helper()
	switch err := f.Err(); {
	case part == "" && err != nil:
		t.Errorf("says %q", err)
	case part != "" && (err == nil || !strings.Contains(err.Error(), part)):
		t.Errorf("says %v, want %q", err, part)
	}
}

// A card is unplugged, is away for two tries, and comes back: the place in the
// music has moved on all the time, and the sound came in again from silence.
func TestUnplugged(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := &device{rateHz: 48000, fails: 10 * time.Second}
		back := &device{rateHz: 48000}
		f := player.NewFallback(cards(lost, nil, back), 44100, 2*time.Second)
		says(t, f, "")
		var c counter
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- f.Run(ctx, &c) }()
		at := func(seconds float64, part string) {
			t.Helper()
			synctest.Wait()
			says(t, f, part)
			if math.Abs(float64(c.pulled())-seconds*48000) > 0.05*48000 {
				t.Errorf("%d frames at %g s", c.pulled(), seconds)
			}
		}
		time.Sleep(9 * time.Second)
		at(9, "")
		time.Sleep(2 * time.Second)
		at(11, "device is gone")
		time.Sleep(2 * time.Second)
		at(13, "no sound device")
		time.Sleep(2 * time.Second)
		at(15, "")
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if !lost.closed || back.closed || c.eased != 1 {
			t.Errorf("lost card closed %v, the new one %v; eased %d times", lost.closed, back.closed, c.eased)
		}
		if err := f.Close(); err != nil || !back.closed {
			t.Errorf("Close: %v, closed %v", err, back.closed)
		}
	})
}

func TestNoCardAtAll(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := player.NewFallback(cards(), 44100, 0)
		var c counter
		if err := runFor(f, &c, 5*time.Second+time.Millisecond); err != nil {
			t.Error(err)
		}
		says(t, f, "no sound device")
		if f.RateHz() != 44100 || c.pulled() != 5*44100 || f.Close() != nil {
			t.Errorf("%d frames at %g Hz", c.pulled(), f.RateHz())
		}
	})
}

// A card that comes back at another rate is a sentence and silence, until one
// at the old rate is there.
func TestAnotherRate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		other := &device{rateHz: 44100}
		f := player.NewFallback(cards(&device{rateHz: 48000, fails: time.Second}, other, &device{rateHz: 48000}), 48000, time.Second)
		var c counter
		_ = runFor(f, &c, 2500*time.Millisecond)
		says(t, f, "now runs at 44.1 kHz and not at 48 kHz")
		if f.RateHz() != 48000 || !other.closed {
			t.Errorf("%g Hz, closed %v", f.RateHz(), other.closed)
		}
		_ = runFor(f, &c, 1500*time.Millisecond)
		says(t, f, "")
	})
}

func TestFile(t *testing.T) {
	var whole, parts bytes.Buffer
	if err := player.Render(player.Raw(&whole), &counter{}, 5000); err != nil {
		t.Fatal(err)
	}
	f := player.NewFile(48000, 5000, player.Raw(&parts))
	if err := f.Run(t.Context(), &counter{}); !errors.Is(err, player.ErrFull) {
		t.Errorf("Run: %v", err)
	}
	if whole.Len() != 40000 || !bytes.Equal(whole.Bytes(), parts.Bytes()) {
		t.Fatalf("%d and %d bytes, want the same 40000", whole.Len(), parts.Len())
	}
	for i := range 5000 {
		at := whole.Bytes()[8*i:]
		l := math.Float32frombits(binary.LittleEndian.Uint32(at))
		r := math.Float32frombits(binary.LittleEndian.Uint32(at[4:]))
		if l != float32(i) || r != -1 {
			t.Fatalf("frame %d: %g %g", i, l, r)
		}
	}
}

func TestFileFails(t *testing.T) {
	full := errors.New("the disk is full")
	err := player.NewFile(48000, 5000, func([]dsp.Frame) error { return full }).Run(t.Context(), &counter{})
	if !errors.Is(err, full) {
		t.Errorf("Run: %v", err)
	}
	short := beep.Take(100, &counter{})
	if err := player.Render(player.Raw(io.Discard), short, 101); err == nil || !strings.Contains(err.Error(), "1 frames early") {
		t.Errorf("Render of a short source: %v", err)
	}
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	var c counter
	if err := player.NewFile(48000, 5000, player.Raw(io.Discard)).Run(stopped, &c); err != nil || c.pulled() != 0 {
		t.Errorf("Run under an ended context: %v, %d frames", err, c.pulled())
	}
}

// A program rendered to a file is the same, bit for bit, as one pulled whole.
func TestFileIsWhatIsHeard(t *testing.T) {
	program := noise(24000, 2, 1)
	p := newPlayer(t, nil)
	play(t, p, program, 1)
	var got []dsp.Frame
	keep := func(block []dsp.Frame) error { got = append(got, block...); return nil }
	if err := player.Render(keep, p, 60000); err != nil {
		t.Fatal(err)
	}
	q := newPlayer(t, nil)
	play(t, q, program, 1)
	if !slices.Equal(got, pull(q, 60000)) {
		t.Error("the file differs")
	}
}
