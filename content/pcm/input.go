package pcm

import (
	"errors"
	"fmt"
	"io"
)

// Unsupported is the error of a file that is sound as such, in a variant of
// its format that no decoder here knows. Another program may.
type Unsupported string

func (u Unsupported) Error() string { return string(u) }

var (
	// ErrDamaged is the end of a file whose data no encoder can have written.
	ErrDamaged = errors.New("the file is damaged: get it again, or save it anew")
	// ErrTruncated is the end of a file that ends before it should.
	ErrTruncated = errors.New("the file ends early: get it again, or save it anew")
)

// Truncated is an ErrTruncated that tells how much is there.
func Truncated(frames int64, f Format) error {
	return fmt.Errorf("%w (%.1f s of %.1f s are there)", ErrTruncated, float64(frames)/f.RateHz, float64(f.Frames)/f.RateHz)
}

// CheckChannels is the error for a number of channels that is not 1 or 2.
func CheckChannels(n int) error {
	if n == 1 || n == 2 {
		return nil
	}
	return fmt.Errorf("it has %d channels, and only mono and stereo are read: save it as stereo", n)
}

// An Input is what a decoder of others reads from. It tells an error of the
// file system from one of the data, which such decoders mix up.
type Input struct {
	R   io.Reader
	err error
}

func (in *Input) Read(p []byte) (int, error) {
	n, err := in.R.Read(p)
	if err != nil && err != io.EOF && in.err == nil {
		in.err = err
	}
	return n, err
}

// Err is the first error of the file system.
func (in *Input) Err() error { return in.err }

// Explain is err, as a decoder gave it, in one sentence. An end that the
// decoder did not expect is ErrTruncated; whatever else is wrong with the data
// is ErrDamaged. An error that wraps one of this package stays as it is.
func (in *Input) Explain(err error) error {
	switch {
	case err == nil:
		return nil
	case in.err != nil:
		return fmt.Errorf("the file cannot be read: %w", in.err)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return ErrTruncated
	case errors.As(err, new(Unsupported)), errors.Is(err, ErrTruncated):
		return err
	}
	return ErrDamaged
}
