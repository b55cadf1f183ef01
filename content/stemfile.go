package content

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"strop/content/resample"
	"strop/dsp"
)

// readBlock is how many frames are read at a time, between looks at whether
// to go on.
const readBlock = 1 << 14

// stemFile is a file that is read from any frame on, at the rate of the
// multitrack. One open decoder is kept for whoever goes on where the last
// reader stopped; readers at the same time open their own.
type stemFile struct {
	path   string
	frames int64 // of the file
	rate   *resample.Resampler
	reopen func() (reader, error) // of the file, or of what was decoded of it

	pending bool   // to be decoded before it can be read
	decoded *spool // nil for a file that can be read from any frame on

	mu     sync.Mutex
	idle   reader
	at     int64 // where idle stands
	closed bool
}

// reader is what is used of a File.
type reader interface {
	Stream(buf []dsp.Frame) (n int, ok bool)
	Err() error
	SeekFrame(frame int64) error
	Close() error
}

// read fills dst with what lies from frame start on at the rate of the
// multitrack; silence after the end.
func (s *stemFile) read(ctx context.Context, dst []dsp.Frame, start int64) error {
	if s.rate == nil {
		return s.readOwn(ctx, dst, start)
	}
	there := int(min(max(int64(s.rate.Len(int(s.frames)))-start, 0), int64(len(dst))))
	clear(dst[there:])
	return s.rate.Region(dst[:there], start, func(src []dsp.Frame, from int64) error { return s.readOwn(ctx, src, from) })
}

// readOwn does the same at the rate of the file; before its start, too, there
// is silence.
func (s *stemFile) readOwn(ctx context.Context, dst []dsp.Frame, start int64) error {
	if before := min(max(-start, 0), int64(len(dst))); before > 0 {
		clear(dst[:before])
		dst, start = dst[before:], 0
	}
	there := int(min(max(s.frames-start, 0), int64(len(dst))))
	clear(dst[there:])
	if there == 0 {
		return nil
	}
	r, at, err := s.take()
	if err != nil {
		return err
	}
	if at != start {
		err = r.SeekFrame(start)
	}
	n := 0
	for err == nil && n < there {
		if err = ctx.Err(); err == nil {
			n, err = streamInto(r, dst[:min(there, n+readBlock)], n)
		}
	}
	if err != nil {
		r.Close() // what went wrong is told already
		return err
	}
	return s.put(r, start+int64(there))
}

// streamInto fills dst from n on.
func streamInto(r reader, dst []dsp.Frame, n int) (int, error) {
	for n < len(dst) {
		got, ok := r.Stream(dst[n:])
		n += got
		if !ok {
			if err := r.Err(); err != nil {
				return n, err
			}
			return n, fmt.Errorf("the file became shorter while it was read: open it again")
		}
	}
	return n, nil
}

// take gives the idle reader, or opens one.
func (s *stemFile) take() (r reader, at int64, err error) {
	s.mu.Lock()
	r, at = s.idle, s.at
	s.idle = nil
	s.mu.Unlock()
	if r != nil {
		return r, at, nil
	}
	r, err = s.reopen()
	return r, 0, err
}

// put keeps a reader for the next, one at most.
func (s *stemFile) put(r reader, at int64) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.idle != nil || s.closed {
		return r.Close()
	}
	s.idle, s.at = r, at
	return nil
}

// close releases the idle reader.
func (s *stemFile) close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	var err error
	if s.idle != nil {
		err = s.idle.Close()
	}
	s.idle = nil
	if s.decoded != nil {
		err = errors.Join(err, s.decoded.close())
	}
	return err
}
