package demo

import (
	"math"
)

// session records a room: every microphone hears every source, the walls and
// the room.
type session struct {
	sources []heard
	mics    []hearing
	room    *room
	wet     float64 // of the sum of the sources
	late    int     // frames before the room answers
}

// hearing is a microphone at work.
type hearing struct {
	ears    []*ear   // by source
	echoes  [][]echo // by source
	dull    float64  // state of the walls' low-pass
	diffuse float64
}

// sessionBlock is how many frames are recorded at a time.
const sessionBlock = 1024

const wallSmooth = 0.45 // walls send back less of the high frequencies

func newSession(rs *roomScore, tracks [][]float64) *session {
	s := &session{room: newRoom(rs.decayS)}
	s.wet = 1 / rs.criticalM() / math.Sqrt(newRoom(rs.decayS).power(rs.decayS))
	for _, x := range tracks {
		s.sources = append(s.sources, listen(x))
	}
	k := newKernel(1, earHalf, earBeta)
	for _, mic := range rs.mics {
		h := hearing{diffuse: mic.diffuse()}
		for _, src := range rs.sources {
			r := mic.routeTo(src.at)
			s.late = max(s.late, int(r.delay)) // nobody hears the room before the source
			h.ears = append(h.ears, newEar(r, k))
			h.echoes = append(h.echoes, rs.echoes(src.at, mic))
		}
		s.mics = append(s.mics, h)
	}
	return s
}

// heard is a track, and in which of its blocks there is anything.
type heard struct {
	x      []float64
	sounds []bool
}

// silence is a peak of which nothing is heard below any noise floor: −160 dB.
const silence = 1e-8

func listen(x []float64) heard {
	h := heard{x: x}
	for from := 0; from < len(x); from += sessionBlock {
		h.sounds = append(h.sounds, peakOf(x[from:min(len(x), from+sessionBlock)]) > silence)
	}
	return h
}

// between reports whether anything sounds from one frame to another.
func (h heard) between(from, to int) bool {
	if to <= 0 || from >= len(h.x) {
		return false
	}
	first, last := max(0, from)/sessionBlock, min(len(h.x), to)-1
	for _, sounds := range h.sounds[first : last/sessionBlock+1] {
		if sounds {
			return true
		}
	}
	return false
}

// part is the part of x from frame from on that lies within it, and where in
// n frames that begins.
func part(x []float64, from, n int) (within []float64, at int) {
	lo, hi := min(max(from, 0), len(x)), min(max(from+n, 0), len(x))
	return x[lo:hi], lo - from
}

// window copies n = len(dst) frames of x from frame from on, zeros beyond its
// ends.
func window(dst, x []float64, from int) {
	clear(dst)
	if within, at := part(x, from, len(dst)); len(within) > 0 {
		copy(dst[at:], within)
	}
}

// scratch is what the recording of a block needs.
type scratch struct {
	sum, mic, walls [sessionBlock]float64
	near            [sessionBlock + 2*earHalf]float64
	wet             [maxMics][sessionBlock]float64
}

// record fills one track a microphone, and calls each after every block.
func (s *session) record(dst [][]float32, each func() error) error {
	buf := new(scratch)
	for from := 0; from < len(dst[0]); from += sessionBlock {
		n := min(sessionBlock, len(dst[0])-from)
		s.fill(buf, from, n)
		for m := range dst {
			s.hear(m, from, n, buf)
			for i, v := range buf.mic[:n] {
				dst[m][from+i] = float32(v)
			}
		}
		if err := each(); err != nil {
			return err
		}
	}
	return nil
}

// fill makes the sound of the room for all microphones.
func (s *session) fill(buf *scratch, from, n int) {
	sum, sounds := buf.sum[:n], false
	clear(sum)
	for _, src := range s.sources {
		if src.between(from-s.late, from-s.late+n) {
			within, at := part(src.x, from-s.late, n)
			for i, v := range within {
				sum[at+i] += s.wet * v
			}
			sounds = true
		}
	}
	s.room.process(sum, sounds, &buf.wet, len(s.mics))
}

// hear makes what microphone m hears from frame from on.
func (s *session) hear(m, from, n int, buf *scratch) {
	mic := &s.mics[m]
	dst, walls := buf.mic[:n], buf.walls[:n]
	clear(walls)
	for i, v := range buf.wet[m][:n] {
		dst[i] = mic.diffuse * v
	}
	for k, src := range s.sources {
		mic.ears[k].add(dst, src, from, buf.near[:n+2*earHalf])
		for _, e := range mic.echoes[k] {
			e.add(walls, src, from)
		}
	}
	low := mic.dull
	for i, v := range walls {
		low = v + wallSmooth*(low-v)
		dst[i] += low
	}
	mic.dull = low
}

// add adds a reflection.
func (e echo) add(dst []float64, src heard, from int) {
	from -= e.delay
	if !src.between(from, from+len(dst)) {
		return
	}
	within, at := part(src.x, from, len(dst))
	dst = dst[at : at+len(within)]
	for i, v := range within {
		dst[i] += e.ratio * v
	}
}
