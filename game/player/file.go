package player

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

const fileBlock = 1024

// Render pulls n frames from src, as fast as they come, and gives them to
// write block by block. It ends early with src, and then reports it. write
// keeps nothing of what it is given.
func Render(write func([]dsp.Frame) error, src beep.Streamer, n int) error {
	block := make([]dsp.Frame, fileBlock)
	for n > 0 {
		got, ok := src.Stream(block[:min(n, fileBlock)])
		if !ok {
			return errors.Join(fmt.Errorf("the sound ended %d frames early", n), src.Err())
		}
		if err := write(block[:got]); err != nil {
			return err
		}
		n -= got
	}
	return nil
}

// Raw writes frames to w without a header: 32-bit float, little-endian, left
// then right.
func Raw(w io.Writer) func([]dsp.Frame) error {
	var buf []byte
	return func(block []dsp.Frame) error {
		buf = buf[:0]
		for _, f := range block {
			buf = binary.LittleEndian.AppendUint32(buf, math.Float32bits(float32(f[0])))
			buf = binary.LittleEndian.AppendUint32(buf, math.Float32bits(float32(f[1])))
		}
		_, err := w.Write(buf)
		return err
	}
}

// File is the Output that gives what it pulls to a writer, as fast as that
// takes it.
type File struct {
	rateHz float64
	write  func([]dsp.Frame) error
	left   int
}

var _ Output = (*File)(nil)

// NewFile is an output of n frames to write, which keeps nothing of what it is
// given.
func NewFile(rateHz float64, n int, write func([]dsp.Frame) error) *File {
	return &File{rateHz: rateHz, left: n, write: write}
}

// RateHz is the rate the file is written for.
func (f *File) RateHz() float64 { return f.rateHz }

// Close does nothing: the writer is its owner's to close.
func (f *File) Close() error { return nil }

// ErrFull is what Run of a File ends with when all its frames are written.
var ErrFull = errors.New("the file is complete")

// Run pulls until the file is complete, or ctx ends; a later Run goes on where
// it stopped.
func (f *File) Run(ctx context.Context, src beep.Streamer) error {
	for f.left > 0 {
		if ctx.Err() != nil {
			return nil
		}
		n := min(f.left, fileBlock)
		if err := Render(f.write, src, n); err != nil {
			return err
		}
		f.left -= n
	}
	return ErrFull
}
