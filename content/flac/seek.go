package flac

import (
	"bytes"
	"errors"
	"io"

	"github.com/mewkiz/flac/frame"

	"strop/content/pcm"
)

// mark is a frame of the file: where it begins, and its first sample.
type mark struct{ byte, sample int64 }

// probeBytes is how much is read to find a frame: more than the longest of
// the encoders in use, and a good deal less than a second.
const probeBytes = 1 << 17

// enoughFrames is how near to the aim a search may end: half a second is
// decoded in a millisecond or two.
const enoughFrames = 1 << 14

// seek stands at a sample: it looks for the FLAC frame that holds it by where
// it should be, going by the average size, and nearer with each look. Tables
// of seek points are not needed.
func (d *decoder) seek(sample int64) error {
	if d.format.Frames >= 0 && sample >= d.format.Frames {
		d.done, d.skip = d.format.Frames, 0
		return d.goTo(d.end)
	}
	lo, hi := mark{d.start, 0}, mark{d.end, max(d.format.Frames, sample+1)}
	for sample-lo.sample > enoughFrames && hi.byte-lo.byte > probeBytes {
		found, err := d.probe(lo, hi, sample)
		switch {
		case err != nil:
			return err
		case found.sample > sample || found.byte <= lo.byte:
			hi.byte = max(lo.byte, min(hi.byte-1, d.aim(lo, hi, sample)))
			hi.sample = max(found.sample, sample)
		default:
			lo = found
		}
		if hi.byte <= lo.byte {
			break
		}
	}
	d.done, d.skip = lo.sample, sample-lo.sample
	return d.goTo(lo.byte)
}

// aim is where to look: a little before where the sample should be.
func (d *decoder) aim(lo, hi mark, sample int64) int64 {
	share := float64(sample-lo.sample) / float64(max(hi.sample-lo.sample, 1))
	return max(lo.byte+1, lo.byte+int64(share*float64(hi.byte-lo.byte))-probeBytes/4)
}

// probe is the first whole frame from the aim on; lo where there is none.
func (d *decoder) probe(lo, hi mark, sample int64) (mark, error) {
	at := d.aim(lo, hi, sample)
	if err := d.goTo(at); err != nil {
		return mark{}, err
	}
	buf := make([]byte, probeBytes)
	n, err := io.ReadFull(d.buffered, buf)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return mark{}, d.in.Explain(err)
	}
	for i := 0; i+2 < n; i++ {
		if !d.mayBegin(buf[i:]) {
			continue
		}
		if m, ok := d.frameAt(buf[i:n]); ok && m > lo.sample {
			return mark{at + int64(i), m}, nil
		}
	}
	return lo, nil
}

// rateCodes are the sample rates that the head of a frame may name, from 1 on.
// Source: RFC 9639, table 15.
var rateCodes = [...]uint32{88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// mayBegin tells whether a frame of this file may begin with b, which has
// three bytes at least: the sync code, and the rate, from the file's header, as
// a code, or in full behind it.
func (d *decoder) mayBegin(b []byte) bool {
	if b[0] != 0xff || b[1]&0xfe != 0xf8 {
		return false
	}
	code := int(b[2] & 15)
	return code == 0 || code >= 12 && code < 15 || code <= len(rateCodes) && rateCodes[code-1] == d.stream.Info.SampleRate
}

// frameAt is the first sample of the frame that begins with b. The sync code
// may come by chance, so that both checksums of the frame must agree.
func (d *decoder) frameAt(b []byte) (sample int64, ok bool) {
	f, err := pcm.Guard(func() (*frame.Frame, error) {
		f, err := frame.New(bytes.NewReader(b))
		if err != nil {
			return nil, err
		}
		return f, d.parse(f)
	})
	if err != nil {
		return 0, false
	}
	if f.HasFixedBlockSize {
		return int64(f.Num) * int64(d.stream.Info.BlockSizeMin), true
	}
	return int64(f.Num), true
}

// goTo stands at a byte of the file.
func (d *decoder) goTo(at int64) error {
	_, err := d.file.Seek(at, io.SeekStart)
	d.buffered.Reset(&d.in)
	return d.in.Explain(err)
}
