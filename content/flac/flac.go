// Package flac reads FLAC files of one or two channels and 4 to 24 bits,
// exactly: a sample is the integer of the file over 2^(bits-1).
//
// Source: Van Beurden and Weaver, Free Lossless Audio Codec (FLAC), RFC 9639,
// 2024, as github.com/mewkiz/flac reads it.
package flac

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"

	"strop/content/id3"
	"strop/content/pcm"
	"strop/dsp"
)

// Open reads the headers of r from where it stands; an ID3v2 tag there is
// skipped. Files of more than two channels are refused; those of more than 24
// bits are a [pcm.Unsupported].
//
// The Source ends with an error where the data is damaged, and where the file
// ends before the length that its header states. Where r can seek it is a
// [pcm.Seeker].
func Open(r io.ReadSeeker) (pcm.Source, error) {
	if err := id3.Skip(r); err != nil {
		return nil, err
	}
	d := &decoder{in: pcm.Input{R: r}}
	_, err := pcm.Guard(d.readHeader)
	if err != nil {
		return nil, d.in.Explain(err)
	}
	info := d.stream.Info
	if err := pcm.CheckChannels(int(info.NChannels)); err != nil {
		return nil, err
	}
	if info.BitsPerSample > 24 {
		return nil, pcm.Unsupported(fmt.Sprintf("a FLAC file of %d bits is not read: save it with 24 bits", info.BitsPerSample))
	}
	d.format = pcm.Format{
		Container: "FLAC", Codec: "FLAC", RateHz: float64(info.SampleRate),
		Channels: int(info.NChannels), Bits: int(info.BitsPerSample), Frames: int64(info.NSamples),
	}
	if info.NSamples == 0 {
		d.format.Frames = -1
	}
	d.toRatio = math.Ldexp(1, 1-d.format.Bits)
	if d.bounds(r) != nil {
		return pcm.Blocks(d.format, d.next), nil
	}
	return pcm.SeekableBlocks(d.format, d.next, d.seek), nil
}

// bounds finds where the frames begin and the file ends.
func (d *decoder) bounds(r io.ReadSeeker) error {
	at, err := r.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	d.file, d.start = r, at-int64(d.buffered.Buffered())
	if d.end, err = r.Seek(0, io.SeekEnd); err != nil {
		return err
	}
	_, err = r.Seek(at, io.SeekStart)
	return err
}

type decoder struct {
	in       pcm.Input
	buffered *bufio.Reader // of in; the stream reads from it
	stream   *flac.Stream
	format   pcm.Format
	toRatio  float64 // full scale over the greatest sample
	block    []dsp.Frame
	done     int64

	file       io.ReadSeeker
	start, end int64 // bytes
	skip       int64 // frames of the next block that come before those asked for
}

func (d *decoder) readHeader() (_ struct{}, err error) {
	d.buffered = bufio.NewReaderSize(&d.in, 1<<16)
	d.stream, err = flac.New(d.buffered)
	return struct{}{}, err
}

// next decodes one FLAC frame. After the stated length there is nothing to be
// read: what may follow is an old tag.
func (d *decoder) next() ([]dsp.Frame, error) {
	if d.format.Frames > 0 && d.done >= d.format.Frames {
		return nil, io.EOF
	}
	f, err := d.stream.Next()
	if err == io.EOF && d.format.Frames < 0 {
		return nil, io.EOF
	}
	if err == nil {
		err = d.parse(f)
	}
	if err != nil {
		return nil, d.explain(err)
	}
	d.fill(f.Subframes[0].Samples, f.Subframes[len(f.Subframes)-1].Samples)
	d.done += int64(len(d.block))
	before := min(d.skip, int64(len(d.block)))
	d.skip -= before
	return d.block[before:], nil
}

func (d *decoder) explain(err error) error {
	err = d.in.Explain(err)
	if err == pcm.ErrTruncated && d.format.Frames > 0 {
		return pcm.Truncated(d.done, d.format)
	}
	return err
}

// parse decodes the samples of f, which must be as the file's header says.
func (d *decoder) parse(f *frame.Frame) error {
	if f.BitsPerSample == 0 { // "as in the header", which the library leaves to us
		f.BitsPerSample = uint8(d.format.Bits)
	}
	if int(f.BitsPerSample) != d.format.Bits || f.Channels.Count() != d.format.Channels {
		return pcm.ErrDamaged
	}
	if err := f.Parse(); err != nil {
		return err
	}
	for _, s := range f.Subframes {
		if len(s.Samples) != int(f.BlockSize) {
			return pcm.ErrDamaged
		}
	}
	return nil
}

func (d *decoder) fill(left, right []int32) {
	if cap(d.block) < len(left) {
		d.block = make([]dsp.Frame, len(left))
	}
	d.block = d.block[:len(left)]
	for i := range left {
		d.block[i] = dsp.Frame{float64(left[i]) * d.toRatio, float64(right[i]) * d.toRatio}
	}
}
