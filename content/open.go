package content

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"strop/content/ffmpeg"
	"strop/content/pcm"
	"strop/dsp"
)

// MaxDuration is the longest file that is read.
const MaxDuration = 30 * time.Minute

var (
	// ErrNotAudio is the error of a file that holds no sound.
	ErrNotAudio = errors.New("it is not an audio file")
	// ErrTooLong is the error of a file longer than MaxDuration.
	ErrTooLong = fmt.Errorf("it is longer than %.0f minutes: cut it into shorter files", MaxDuration.Minutes())
	// ErrNoSound is the error of an audio file of no length.
	ErrNoSound = errors.New("it is an audio file with no sound in it")
)

// A File is an audio file that is being decoded. Close it in any case.
//
// It keeps the limits that a header may lie about: its Stream ends after
// MaxDuration, or where the data end, whatever was stated, and Err tells if
// that is wrong.
type File struct {
	path   string
	src    pcm.Source
	close  func() error
	format pcm.Format
	done   int64 // frames given
	max    int64 // MaxDuration in frames
	err    error // of the limits
}

var (
	_ pcm.Seeker = (*File)(nil)
	_ io.Closer  = (*File)(nil)
)

// Open opens an audio file of any format. What it is is seen from its content;
// the extension does not matter. WAV, RF64, AIFF, FLAC, Ogg Vorbis, Opus and
// MP3 are decoded here; the rest, and rare variants of those, by the program
// ffmpeg where there is one.
//
// An error, of Open or of the Source, is one sentence that begins with the
// base name of the file. It wraps what [errors.Is] may be asked for:
// [fs.ErrNotExist] and [fs.ErrPermission], ErrNotAudio, ErrTooLong, ErrNoSound,
// [ffmpeg.ErrMissing], [pcm.ErrDamaged], [pcm.ErrTruncated].
func Open(path string) (*File, error) {
	f := &File{path: path, close: func() error { return nil }}
	if err := f.open(); err != nil {
		f.close()
		return nil, f.named(err)
	}
	return f, nil
}

// Path is what Open was given.
func (f *File) Path() string { return f.path }

// Format is what the file is. Its length is a claim of the file.
func (f *File) Format() pcm.Format { return f.format }

// Close ends decoding.
func (f *File) Close() error { return f.close() }

// Err is why the sound ended before its end, nil if it did not.
func (f *File) Err() error {
	if f.err != nil {
		return f.named(f.err)
	}
	if err := f.src.Err(); err != nil {
		return f.named(err)
	}
	return nil
}

// Stream fills buf with the next frames.
func (f *File) Stream(buf []dsp.Frame) (n int, ok bool) {
	if f.err != nil {
		return 0, false
	}
	n, ok = f.src.Stream(buf)
	if n = int(min(int64(n), f.max-f.done)); n == 0 && ok && f.done == f.max {
		f.err, ok = ErrTooLong, false
	}
	f.done += int64(n)
	if !ok && f.done == 0 && f.src.Err() == nil {
		f.err = ErrNoSound
	}
	return n, ok
}

// Seekable reports whether SeekFrame is possible.
func (f *File) Seekable() bool {
	_, ok := f.src.(pcm.Seeker)
	return ok
}

// SeekFrame makes frame the next one of Stream, for a file that is Seekable.
func (f *File) SeekFrame(frame int64) error {
	s, ok := f.src.(pcm.Seeker)
	if !ok {
		return f.named(errors.New("it can only be read from the start"))
	}
	f.done, f.err = min(max(frame, 0), f.max), nil
	if err := s.SeekFrame(f.done); err != nil {
		return f.named(err)
	}
	return nil
}

// named puts the base name before err.
func (f *File) named(err error) error {
	var pathErr *fs.PathError // it names the whole path
	if errors.As(err, &pathErr) {
		err = pathErr.Err
	}
	return fmt.Errorf("%s: %w", filepath.Base(f.path), err)
}

func (f *File) open() error {
	// A pipe would keep os.Open waiting, so look before.
	info, err := os.Stat(f.path)
	switch {
	case err != nil:
		return err
	case info.IsDir():
		return errors.New("it is a folder, not an audio file")
	case !info.Mode().IsRegular():
		return errors.New("it is not a regular file")
	case info.Size() == 0:
		return errors.New("the file is empty: get it again, or save it anew")
	}
	file, err := os.Open(f.path)
	if err != nil {
		return err
	}
	f.close = file.Close
	if f.src, err = sniff(file); err != nil {
		if f.src, err = f.tryFFmpeg(file, err); err != nil {
			return err
		}
	}
	return f.check()
}

// tryFFmpeg is the source that ffmpeg makes of the file if cause is that no
// decoder here reads it, else cause.
func (f *File) tryFFmpeg(file *os.File, cause error) (pcm.Source, error) {
	unsupported := errors.As(cause, new(pcm.Unsupported))
	if !unsupported && !errors.Is(cause, errUnknown) {
		return nil, cause
	}
	hopeful := unsupported || errors.Is(cause, errForeign)
	if !ffmpeg.Available() {
		switch {
		case unsupported:
			return nil, fmt.Errorf("%w, or install the ffmpeg program", cause)
		case hopeful:
			return nil, ffmpeg.ErrMissing
		}
		return nil, ErrNotAudio
	}
	src, err := ffmpeg.Open(context.Background(), f.path)
	if err != nil {
		if hopeful {
			return nil, err
		}
		return nil, ErrNotAudio
	}
	f.close = func() error { return errors.Join(src.Close(), file.Close()) }
	return src, nil
}

// check refuses what the header itself shows to be of no use.
func (f *File) check() error {
	f.format = f.src.Format()
	rateHz := f.format.RateHz
	if !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz) {
		return fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	}
	if f.format.Frames == 0 {
		return ErrNoSound
	}
	f.max = int64(MaxDuration.Seconds() * rateHz)
	if f.format.Frames > f.max {
		return ErrTooLong
	}
	return nil
}
