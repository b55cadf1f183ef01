package content

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"sync"
	"time"

	"strop/content/pcm"
	"strop/dsp"
)

// MaxFrames is the most that is kept of one material: 30 minutes at 48 kHz,
// 691 MB. Of anything longer the first MaxFrames frames are used, and Err says
// so.
const MaxFrames = 30 * 60 * 48_000

// chunkFrames is the unit in which memory is taken and frames are published.
const chunkFrames = 1 << 16

type chunk [chunkFrames][2]float32

// Material is one song, decoded in the background into memory.
//
// Frames are kept as 32-bit floats: their 24-bit mantissa holds every 24-bit
// sample exactly, and the rounding of a float file lies 144 dB below its own
// signal. Memory grows by chunks of 512 KiB as frames really come, whatever a
// header claims: 8 bytes a frame, MaxFrames frames at most.
//
// All methods may be called from any goroutine while decoding goes on; they
// see finished chunks only.
type Material struct {
	name   string
	hash   string
	format pcm.Format

	mu     sync.Mutex
	chunks []*chunk
	done   int64         // frames published
	ended  bool          // no more will come
	err    error         // why it ended before its end
	grown  chan struct{} // closed, and replaced, when any of the above changes
}

// Start decodes src in the background until its end, until MaxFrames, or until
// ctx is done. It is closed after that if it is an io.Closer. Name is for
// people, hash the identity under which loops of it are recorded.
func Start(ctx context.Context, name, hash string, src pcm.Source) (*Material, error) {
	return start(ctx, name, hash, src, MaxFrames)
}

func start(ctx context.Context, name, hash string, src pcm.Source, maxFrames int64) (*Material, error) {
	m := &Material{name: name, hash: hash, format: src.Format(), grown: make(chan struct{})}
	if rateHz := m.format.RateHz; !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz) {
		closeSource(src)
		return nil, fmt.Errorf("%s: a sample rate of %g Hz is outside %d to %d Hz", name, rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	}
	go func() {
		defer closeSource(src)
		m.decode(ctx, src, maxFrames)
	}()
	return m, nil
}

func closeSource(src pcm.Source) {
	if c, ok := src.(io.Closer); ok {
		c.Close() // it was only read: there is nothing to lose
	}
}

func (m *Material) decode(ctx context.Context, src pcm.Source, maxFrames int64) {
	buf := make([]dsp.Frame, 4096)
	for left := maxFrames; ; {
		c := new(chunk)
		n, err := c.fill(ctx, src, buf, int(min(chunkFrames, left)))
		left -= int64(n)
		m.publish(c, n, err)
		if err != nil {
			return
		}
	}
}

var (
	errTooLong   = errors.New("it is too long to be kept whole: cut it into shorter files to reach the rest")
	errNotFinite = errors.New("a sample is not a number: the file is damaged there")
)

// fill reads the next frames of src, at most room of them, and is how many.
// The error is nil as long as there may be more, io.EOF at the end.
func (c *chunk) fill(ctx context.Context, src pcm.Source, buf []dsp.Frame, room int) (n int, err error) {
	if room == 0 {
		if n, _ := src.Stream(buf[:1]); n > 0 {
			return 0, errTooLong
		}
		return 0, cmp.Or(src.Err(), io.EOF)
	}
	for n < room {
		if ctx.Err() != nil {
			return n, fmt.Errorf("decoding was stopped: %w", ctx.Err())
		}
		got, ok := src.Stream(buf[:min(len(buf), room-n)])
		kept := c.narrow(n, buf[:got])
		n += kept
		switch {
		case kept < got:
			return n, errNotFinite
		case !ok:
			return n, cmp.Or(src.Err(), io.EOF)
		}
	}
	return n, nil
}

// narrow stores frames at c[at:] and is how many could be: a sample that is
// no finite number stops it.
func (c *chunk) narrow(at int, frames []dsp.Frame) int {
	for i, f := range frames {
		l, r := float32(f[0]), float32(f[1])
		if sum := float64(l) + float64(r); math.IsNaN(sum) || math.IsInf(sum, 0) {
			return i
		}
		c[at+i] = [2]float32{l, r}
	}
	return len(frames)
}

// publish adds n finished frames, and the reason if they are the last.
func (m *Material) publish(c *chunk, n int, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if n > 0 {
		m.chunks = append(m.chunks, c)
		m.done += int64(n)
	}
	if err != nil {
		m.ended, m.err = true, m.reason(err)
	}
	close(m.grown)
	m.grown = make(chan struct{})
}

// reason is err as one sentence about the material, nil for a plain end.
func (m *Material) reason(err error) error {
	switch {
	case err == io.EOF && m.done > 0:
		return nil
	case err == io.EOF:
		return fmt.Errorf("%s: there is no sound in it: choose another file", m.name)
	case m.done == 0:
		return fmt.Errorf("%s: nothing of it can be used: %w", m.name, err)
	}
	return fmt.Errorf("%s: only the first %s can be used: %w", m.name, m.clock(m.done), err)
}

// Name is what people call it.
func (m *Material) Name() string { return m.name }

// Hash is its identity.
func (m *Material) Hash() string { return m.hash }

// Format is what its source says of it.
func (m *Material) Format() pcm.Format { return m.format }

// RateHz is its sample rate.
func (m *Material) RateHz() float64 { return m.format.RateHz }

// Progress is how many frames are there, and of how many: -1 where nobody
// knows yet. At the end both are equal.
func (m *Material) Progress() (doneFrames, totalFrames int64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.ended {
		return m.done, m.done
	}
	return m.done, max(m.format.Frames, -1)
}

// Err is nil while decoding goes on and after it reached the end, else one
// sentence: why less than the whole can be used. What came before stays
// usable.
func (m *Material) Err() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.err
}

// Wait returns when decoding has ended. Its error is that of ctx, or that of
// a material of which nothing could be decoded.
func (m *Material) Wait(ctx context.Context) error { return m.WaitFrames(ctx, math.MaxInt64) }

// WaitFrames returns when n frames are there or decoding has ended; its error
// is as that of Wait.
func (m *Material) WaitFrames(ctx context.Context, n int64) error {
	for {
		m.mu.Lock()
		done, ended, err, grown := m.done, m.ended, m.err, m.grown
		m.mu.Unlock()
		switch {
		case ended && done == 0:
			return err
		case ended || done >= n:
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-grown:
		}
	}
}

// Frames copies what is there from frame start on into dst, and is how many
// frames that was: fewer than len(dst) where no more is there yet, 0 outside
// the material.
func (m *Material) Frames(dst []dsp.Frame, start int64) int {
	m.mu.Lock()
	chunks, done := m.chunks, m.done
	m.mu.Unlock()
	if start < 0 || start >= done {
		return 0
	}
	n := int(min(int64(len(dst)), done-start))
	for filled := 0; filled < n; {
		at := start + int64(filled)
		part := chunks[at/chunkFrames][at%chunkFrames:]
		part = part[:min(len(part), n-filled)]
		for i, f := range part {
			dst[filled+i] = dsp.Frame{float64(f[0]), float64(f[1])}
		}
		filled += len(part)
	}
	return n
}

// clock is a place in the material as people say it: minutes:seconds.
func (m *Material) clock(frame int64) string { return clock(float64(frame) / m.format.RateHz) }

func clock(seconds float64) string {
	d := time.Duration(math.Round(seconds)) * time.Second
	return fmt.Sprintf("%d:%02d", int(d.Minutes()), int(d.Seconds())%60)
}
