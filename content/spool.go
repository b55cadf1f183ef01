package content

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"strop/dsp"
)

// spool is a stem of a format that cannot be read from the middle (MP3,
// Vorbis, Opus, whatever ffmpeg decodes), decoded once into a file of 32-bit
// floats in the user's cache folder. The file goes with the multitrack.
type spool struct {
	file     *os.File
	channels int
	frames   int64
}

// newSpool makes the file. Where the system allows it, its name is removed at
// once, so that nothing is left even after a crash.
func newSpool(channels int) (*spool, error) {
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	dir = filepath.Join(dir, "strop", "decoded")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("there is no place to decode to: %w", err)
	}
	file, err := os.CreateTemp(dir, "stem-*.pcm")
	if err != nil {
		return nil, fmt.Errorf("there is no place to decode to: %w", err)
	}
	os.Remove(file.Name())
	return &spool{file: file, channels: channels}, nil
}

func (s *spool) close() error {
	err := s.file.Close()
	os.Remove(s.file.Name()) // where it could not be done while it was open
	return err
}

// decode does what is pending.
func (s *stemFile) decode(ctx context.Context) error {
	if !s.pending {
		return nil
	}
	file, err := Open(s.path)
	if err != nil {
		return err
	}
	s.pending = false
	return s.spool(ctx, file)
}

// spool decodes all of a file, closes it, and reads from what it made. What
// comes before an error of the file stays usable; the error is given.
func (s *stemFile) spool(ctx context.Context, file *File) (err error) {
	defer file.Close()
	out, err := newSpool(file.Format().Channels)
	if err != nil {
		return err
	}
	buf, bytes := make([]dsp.Frame, readBlock), make([]byte, 0, 8*readBlock)
	for ok := true; ok && err == nil; {
		var n int
		n, ok = file.Stream(buf)
		bytes = out.encode(bytes[:0], buf[:n])
		if _, err = out.file.Write(bytes); err == nil {
			err = ctx.Err()
		}
		out.frames += int64(n)
	}
	if err != nil || out.frames == 0 {
		s.frames = 0
		return errors.Join(err, file.Err(), out.close())
	}
	s.decoded, s.frames = out, out.frames
	s.reopen = func() (reader, error) { return &spoolReader{spool: out}, nil }
	return file.Err()
}

func (s *spool) encode(dst []byte, frames []dsp.Frame) []byte {
	for _, f := range frames {
		for _, v := range f[:s.channels] {
			dst = binary.LittleEndian.AppendUint32(dst, math.Float32bits(float32(v)))
		}
	}
	return dst
}

// spoolReader reads a spool from any frame on; several may at a time.
type spoolReader struct {
	*spool
	at  int64
	buf []byte
	err error
}

func (r *spoolReader) Err() error   { return r.err }
func (r *spoolReader) Close() error { return nil }

func (r *spoolReader) SeekFrame(frame int64) error {
	r.at = frame
	return nil
}

func (r *spoolReader) Stream(buf []dsp.Frame) (n int, ok bool) {
	size := 4 * r.channels
	n = int(min(int64(min(len(buf), readBlock)), r.frames-r.at))
	if n <= 0 {
		return 0, false
	}
	if r.buf == nil {
		r.buf = make([]byte, size*readBlock)
	}
	got, err := r.file.ReadAt(r.buf[:n*size], r.at*int64(size))
	if err != nil && err != io.EOF {
		r.err = fmt.Errorf("what was decoded of it cannot be read again: %w", pathless(err))
		return 0, false
	}
	n = got / size
	for i := range n {
		left := float32At(r.buf[i*size:])
		buf[i] = dsp.Frame{left, left}
		if r.channels == 2 {
			buf[i][1] = float32At(r.buf[i*size+4:])
		}
	}
	r.at += int64(n)
	return n, n > 0
}

func float32At(b []byte) float64 {
	return float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))
}
