package resample

import (
	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

// blockFrames is how many input frames are taken at a time.
const blockFrames = 4096

// Stream gives src at the new rate as it comes. The frames do not depend on
// how src or the caller splits them into blocks. If src gives n frames,
// exactly Len(n) come out, and Err is that of src. Where the rates are equal
// the result is src itself.
func (r *Resampler) Stream(src beep.Streamer) beep.Streamer {
	if r.table == nil {
		return src
	}
	return &stream{
		r:      r,
		src:    src,
		buf:    make([]dsp.Frame, r.taps+blockFrames),
		filled: r.taps/2 - 1, // silence before the first frame
	}
}

// stream is a window that slides over its source. The next output frame is
// phase against buf[start : start+taps].
type stream struct {
	r             *Resampler
	src           beep.Streamer
	buf           []dsp.Frame
	start, filled int
	phase         int
	in, out       int // frames taken and given
	ended         bool
}

var _ beep.Streamer = (*stream)(nil)

func (s *stream) Err() error { return s.src.Err() }

func (s *stream) Stream(dst []dsp.Frame) (n int, ok bool) {
	for n < len(dst) {
		if s.filled-s.start < s.r.taps {
			s.refill()
		}
		room := len(dst) - n
		if s.ended {
			room = min(room, s.r.Len(s.in)-s.out)
		}
		if room == 0 {
			break
		}
		n += s.convert(dst[n : n+room])
	}
	return n, n > 0
}

// refill moves the rest of the window to the front of buf and fills what is
// behind it, from the source, then with the silence after its end.
func (s *stream) refill() {
	s.filled = copy(s.buf, s.buf[s.start:s.filled])
	s.start = 0
	for s.filled < len(s.buf) && !s.ended {
		n, ok := s.src.Stream(s.buf[s.filled:])
		s.filled += n
		s.in += n
		s.ended = !ok
	}
	clear(s.buf[s.filled:])
	s.filled = len(s.buf)
}

// convert fills dst, or as much of it as buf reaches, and is how many.
func (s *stream) convert(dst []dsp.Frame) int {
	taps, up, down := s.r.taps, s.r.up, s.r.down
	start, phase, n := s.start, s.phase, 0
	for n < len(dst) && start+taps <= s.filled {
		dst[n] = dot(s.r.table[phase*taps:][:taps], s.buf[start:start+taps])
		n++
		phase += down
		start += phase / up
		phase %= up
	}
	s.start, s.phase = start, phase
	s.out += n
	return n
}
