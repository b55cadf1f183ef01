package wav

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"strop/content/chunk"
	"strop/content/pcm"
	"strop/dsp"
)

// Sample is how a sample is written.
type Sample int

// The floats hold what is beyond full scale. Uint8 has silence at 128.
const (
	Float32 Sample = iota
	Float64
	Uint8
	Int16
	Int24
	Int32
)

// Bytes is the size of a sample, 0 if s is none of the above.
func (s Sample) Bytes() int {
	switch s {
	case Float32, Int32:
		return 4
	case Float64:
		return 8
	case Uint8:
		return 1
	case Int16:
		return 2
	case Int24:
		return 3
	}
	return 0
}

func (s Sample) float() bool { return s == Float32 || s == Float64 }

// WriteFormat is how a file is written.
type WriteFormat struct {
	RateHz   float64 // whole, dsp.MinRateHz to dsp.MaxRateHz
	Channels int     // 1 or 2
	Sample   Sample
	Seed     uint64 // of the dither of integers
	NoDither bool   // integers are rounded to nearest: for frames that are on their grid already
}

func (f WriteFormat) check() error {
	if err := pcm.CheckChannels(f.Channels); err != nil {
		return err
	}
	switch {
	case !(f.RateHz >= dsp.MinRateHz && f.RateHz <= dsp.MaxRateHz) || f.RateHz != math.Trunc(f.RateHz):
		return fmt.Errorf("a WAV file has a whole sample rate from %d to %d Hz, not %g Hz", dsp.MinRateHz, dsp.MaxRateHz, f.RateHz)
	case f.Sample.Bytes() == 0:
		return fmt.Errorf("there is no sample format %d: choose one of this package", f.Sample)
	}
	return nil
}

var (
	errTwoChannels = errors.New("left and right differ: write the file in stereo")
	errNoNumber    = errors.New("a frame is no finite number, and was not written")
	errClosed      = errors.New("the file is complete: open another one to write more")
)

// Writer writes a WAV file block by block; Close completes it. Until then its
// sizes are those of a stream that nobody knows the end of, so that a file
// that was never closed can still be read. Where w cannot seek, as a pipe,
// they stay so. A file that grows beyond 4 GiB becomes an RF64.
//
// Integers get triangular dither, 2 steps from peak to peak, from a seed: the
// same seed gives the same file. A sample beyond what they can hold becomes
// the nearest they can, and is counted by Clipped.
//
// Sources: Lipshitz, Wannamaker and Vanderkooy, Quantization and Dither: A
// Theoretical Survey, JAES 40 (5), 1992 (triangular dither); EBU Tech 3306,
// which has a JUNK chunk kept in place of ds64 (both from memory).
type Writer struct {
	w       io.Writer
	seeker  io.WriteSeeker // nil if w cannot seek
	start   int64          // of the file in seeker
	format  WriteFormat
	quant   quantizer
	buf     []byte
	frames  int64
	largest int64 // of a RIFF
	err     error
}

// The places of what is written: RIFF, JUNK or ds64, fmt, fact, data.
const (
	ds64At  = 12
	fmtAt   = ds64At + 8 + 28
	factAt  = fmtAt + 8 + 18
	dataAt  = factAt + 8 + 4
	soundAt = dataAt + 8
)

// NewWriter writes the head of a file to w, from where w stands.
func NewWriter(w io.Writer, f WriteFormat) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	wr := &Writer{w: w, format: f, quant: newQuantizer(f), largest: math.MaxUint32}
	if s, ok := w.(io.WriteSeeker); ok {
		if at, err := s.Seek(0, io.SeekCurrent); err == nil {
			wr.seeker, wr.start = s, at
		}
	}
	_, err := w.Write(wr.head(sizes{form: chunk.Unset, fact: chunk.Unset, data: chunk.Unset}))
	return wr, err
}

// Write adds frames, and keeps nothing of them. Of a mono file left and right
// must be equal. A frame that is no finite number, in the format of the file,
// is an error; what came before it is written. After an error there is no more
// writing; Close may still complete what is there.
func (w *Writer) Write(frames []dsp.Frame) error {
	const block = 4096
	for len(frames) > 0 && w.err == nil {
		n := min(len(frames), block)
		w.err = w.block(frames[:n])
		frames = frames[n:]
	}
	return w.err
}

func (w *Writer) block(frames []dsp.Frame) error {
	good, bad := w.check(frames)
	w.buf = w.quant.pack(w.buf[:0], frames[:good])
	n, err := w.w.Write(w.buf)
	w.frames += int64(n / (w.format.Channels * w.format.Sample.Bytes()))
	return errors.Join(err, bad)
}

// check is how many frames can be written, and what is wrong with the next.
func (w *Writer) check(frames []dsp.Frame) (int, error) {
	limit := math.MaxFloat64
	if w.format.Sample == Float32 {
		limit = math.MaxFloat32
	}
	for i, f := range frames {
		switch {
		case !(math.Abs(f[0]) <= limit && math.Abs(f[1]) <= limit):
			return i, errNoNumber
		case w.format.Channels == 1 && f[0] != f[1]:
			return i, errTwoChannels
		}
	}
	return len(frames), nil
}

// Frames is how many were written.
func (w *Writer) Frames() int64 { return w.frames }

// Clipped is how many samples integers could not hold. It stays 0 for floats.
func (w *Writer) Clipped() int64 { return w.quant.clipped }

// Close completes the file. It does not close what it is written to. It gives
// the error of an earlier Write again, after it has tried to complete what is
// there.
func (w *Writer) Close() error {
	if w.err == errClosed {
		return errClosed
	}
	err := errors.Join(w.err, w.complete())
	w.err = errClosed
	return err
}

// complete writes the byte of padding, and the head again with its sizes.
func (w *Writer) complete() error {
	bytes := w.frames * int64(w.format.Channels*w.format.Sample.Bytes())
	if w.seeker == nil {
		return nil // the sound goes to the end: no padding either
	}
	if _, err := w.seeker.Seek(w.start+soundAt+bytes, io.SeekStart); err != nil {
		return err
	}
	if _, err := w.w.Write(make([]byte, bytes%2)); err != nil {
		return err
	}
	if _, err := w.seeker.Seek(w.start, io.SeekStart); err != nil {
		return err
	}
	if _, err := w.w.Write(w.head(w.sizes(bytes))); err != nil {
		return err
	}
	_, err := w.seeker.Seek(0, io.SeekEnd)
	return err
}

// sizes are those of the form, the count of frames, and the sound; large ones
// stand in ds64.
type sizes struct {
	form, fact, data uint32
	ds64             [3]uint64 // form, sound, frames
	large            bool
}

func (w *Writer) sizes(bytes int64) sizes {
	form := soundAt - 8 + bytes + bytes%2
	if form > w.largest {
		return sizes{chunk.Unset, chunk.Unset, chunk.Unset, [3]uint64{uint64(form), uint64(bytes), uint64(w.frames)}, true}
	}
	return sizes{form: uint32(form), fact: uint32(w.frames), data: uint32(bytes)}
}

// head is everything before the sound.
func (w *Writer) head(s sizes) []byte {
	le := binary.LittleEndian
	size := w.format.Channels * w.format.Sample.Bytes()
	b := make([]byte, soundAt)
	copy(b, "RIFF....WAVEJUNK")
	copy(b[fmtAt:], "fmt ")
	copy(b[factAt:], "fact")
	copy(b[dataAt:], "data")
	le.PutUint32(b[4:], s.form)
	le.PutUint32(b[ds64At+4:], 28)
	if s.large {
		copy(b, "RF64")
		copy(b[ds64At:], "ds64")
		for i, v := range s.ds64 {
			le.PutUint64(b[ds64At+8+8*i:], v)
		}
	}
	le.PutUint32(b[fmtAt+4:], 18)
	le.PutUint16(b[fmtAt+8:], w.tag())
	le.PutUint16(b[fmtAt+10:], uint16(w.format.Channels))
	le.PutUint32(b[fmtAt+12:], uint32(w.format.RateHz))
	le.PutUint32(b[fmtAt+16:], uint32(w.format.RateHz)*uint32(size))
	le.PutUint16(b[fmtAt+20:], uint16(size))
	le.PutUint16(b[fmtAt+22:], uint16(8*w.format.Sample.Bytes()))
	le.PutUint32(b[factAt+4:], 4)
	le.PutUint32(b[factAt+8:], s.fact)
	le.PutUint32(b[dataAt+4:], s.data)
	return b
}

func (w *Writer) tag() uint16 {
	if w.format.Sample.float() {
		return tagFloat
	}
	return tagPCM
}
