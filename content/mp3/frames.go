package mp3

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"strop/content/pcm"
)

// searchBytes is how far the first frame is looked for, and any further one
// after something else.
const searchBytes = 1 << 16

// ErrNone is the error of a file that begins with no MP3 frames.
var ErrNone = errors.New("there is no MP3 sound in it")

// frames reads the MPEG frames of one stream, and gives their bytes to the
// decoder: whole frames only, all alike, and silent where a frame refers to
// sound data before it that are not there. The decoder would play noise
// instead.
type frames struct {
	r     *bufio.Reader // at least searchBytes large
	first header
	max   int // MPEG frames to be given; 0 for all

	given     int    // MPEG frames so far
	rest      []byte // of the frame that is being given
	frame     []byte
	reservoir int // bytes of sound data before the next frame
	err       error
}

var _ io.Reader = (*frames)(nil)

// Read gives the bytes of the next frame, or of the rest of one.
func (f *frames) Read(p []byte) (int, error) {
	if len(f.rest) == 0 {
		if f.err != nil {
			return 0, f.err
		}
		f.rest, f.err = f.next()
	}
	n := copy(p, f.rest)
	f.rest = f.rest[n:]
	if n == 0 && f.err != nil {
		return 0, f.err
	}
	return n, nil
}

// next is the next frame. After the stated last one comes a silent one, in
// which the decoder plays what it still holds, then io.EOF.
func (f *frames) next() ([]byte, error) {
	if f.max > 0 && f.given == f.max {
		return f.silent(), io.EOF
	}
	data, err := f.r.Peek(4)
	switch {
	case err != nil && err != io.EOF:
		return nil, err
	case len(data) == 0:
		return nil, f.end()
	case len(data) < 4 || !f.first.like(parseHeader(data)):
		return nil, f.other()
	}
	h := parseHeader(data)
	if err := decodable(h); err != nil {
		return nil, err
	}
	f.frame = append(f.frame[:0], make([]byte, h.size())...)
	if _, err := io.ReadFull(f.r, f.frame); err != nil {
		return nil, err
	}
	f.given++
	f.fillReservoir(h)
	return f.frame, nil
}

// end is the error where the file ends between two frames.
func (f *frames) end() error {
	if f.given < f.max || f.given == 0 {
		return pcm.ErrTruncated
	}
	return io.EOF
}

// other is the error where something else than a frame comes. Where no frames
// follow it is a tag at the end of the file.
func (f *frames) other() error {
	data, err := f.r.Peek(searchBytes)
	if err != nil && err != io.EOF {
		return err
	}
	if find(data, f.first.like) >= 0 {
		return pcm.ErrDamaged
	}
	return f.end()
}

// silent is a frame of silence of the same stream.
func (f *frames) silent() []byte {
	h := f.first&^0xf200 | 9<<12 // unpadded, of a bit rate that leaves room for the side information
	f.frame = append(f.frame[:0], make([]byte, h.size())...)
	for i := range 4 {
		f.frame[i] = byte(h >> (24 - 8*i))
	}
	return f.frame
}

// fillReservoir makes the frame silent if it refers to more sound data before
// it than there are. It then keeps as much of them as there is for those after.
func (f *frames) fillReservoir(h header) {
	side := f.frame[h.sideAt():]
	own := len(side) - h.sideBytes()
	side = side[:h.sideBytes()]
	begin, most := int(side[0])<<1|int(side[1])>>7, 511
	if h.low() {
		begin, most = int(side[0]), 255
	}
	if begin > f.reservoir {
		begin = min(f.reservoir, most)
		clear(side)
		if h.low() {
			side[0] = byte(begin)
		} else {
			side[0], side[1] = byte(begin>>1), byte(begin<<7)
		}
	}
	f.reservoir = begin + own
}

// decodable is the error of a frame that the decoder cannot read.
//
// The decoder halves (144·bitrate/rate + padding) at the low rates, where it
// is 72·bitrate/rate that has to be rounded: at some bit rates of 22.05 kHz it
// loses the padding byte, and with it the place.
func decodable(h header) error {
	switch {
	case h.layer() != 3:
		return pcm.Unsupported("an MPEG layer 2 file is not read: save it as WAV or FLAC")
	case h.version() == 0:
		return pcm.Unsupported(fmt.Sprintf("an MP3 file of %d Hz is not read: save it as WAV or FLAC", h.rateHz()))
	case h.low() && (144*h.bitrate()/h.rateHz()+h.padding())/2 != h.size():
		return pcm.Unsupported(fmt.Sprintf("an MP3 file of %d Hz at this bit rate is not read: save it as WAV or FLAC", h.rateHz()))
	case h.size() < h.sideAt()+h.sideBytes():
		return pcm.ErrDamaged
	}
	return nil
}

// find is where in data a frame begins that two more like it follow, or the
// end of data after at least one, and whose header is wanted; -1 if nowhere.
func find(data []byte, wanted func(header) bool) int {
	for at := 0; at+4 <= len(data); at++ {
		h := parseHeader(data[at:])
		if h.valid() && wanted(h) && follows(data[at:], h) {
			return at
		}
	}
	return -1
}

func follows(data []byte, h header) bool {
	for i := range 3 {
		if len(data) < 4 {
			return i > 1 || i == 1 && len(data) == 0
		}
		next := parseHeader(data)
		if !h.like(next) {
			return false
		}
		data = data[min(len(data), next.size()):]
	}
	return true
}
