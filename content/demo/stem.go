package demo

import (
	"math"

	"strop/content/pcm"
	"strop/dsp"
)

// Role is what a stem is in the arrangement.
type Role string

// Roles are all of them.
var Roles = []Role{
	"kick", "snare", "hat", "tom", "cymbal", "overhead", "room", "percussion", "drum machine", "bass",
	"guitar", "keys", "synth", "lead vocal", "backing vocal", "speech", "effect",
}

// Key is a tonic and a mode.
type Key struct {
	Tonic int // 0 is C, 11 is B
	Minor bool
}

var keyNames = [12]string{"C", "D♭", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"}

// String is the key as people write it: "F♯ minor".
func (k Key) String() string {
	mode := " major"
	if k.Minor {
		mode = " minor"
	}
	return keyNames[k.Tonic] + mode
}

// Shift is the key semitones higher.
func (k Key) Shift(semitones int) Key {
	return Key{((k.Tonic+semitones)%12 + 12) % 12, k.Minor}
}

// Span is a stretch of frames, To excluded.
type Span struct{ From, To int }

// Section is a part of a song.
type Section struct {
	Name string
	Span
}

// Note is a note that a stem plays, as it is meant: MIDI number 69 is A4,
// 440 Hz.
type Note struct {
	Span
	Key int
}

// FreqHz is the fundamental that is meant.
func (n Note) FreqHz() float64 { return 440 * math.Exp2(float64(n.Key-69)/12) }

// Consonant is where a voice has a plosive or a sibilant.
type Consonant struct {
	Span
	Kind Kind
}

// Label is what is known of a stem before it is rendered.
type Label struct {
	Name      string // as a file would be called, without extension
	Role      Role
	Pair      string  // stems with the same word belong together: two microphones of a source, DI and amplifier, left and right; "" alone
	Source    string  // what it is meant to hear
	Mic       bool    // else a line, without room or distance
	DistanceM float64 // of a microphone from its source: its sound is DistanceM/343 s late
	Inverted  bool    // against its pair, on purpose
	LimitHz   float64 // above it there is nothing of the source but noise; 0 where it is full band
	Synthetic bool    // a voice that nobody sang
	Channels  int
}

// Stem is one track as it would be delivered: 24-bit values at 48 kHz, raw,
// from the common start.
type Stem struct {
	Label
	PCM        [][]float32 // by channel
	Notes      []Note      // of a tuned source, in order
	Consonants []Consonant

	mixLUFS, pan float64
}

// Rendered is one take of a song.
type Rendered struct {
	Song        Song
	Seed        uint64
	RateHz      float64
	Frames      int
	TempoBPM    float64
	BeatsPerBar int
	Beats       []int // frames; the last one ends the last bar
	Key         Key
	Sections    []Section
	Stems       []Stem
}

// Pairs are the indices of stems that belong together, by the word that says
// so.
func (r *Rendered) Pairs() map[string][]int {
	pairs := map[string][]int{}
	for i, st := range r.Stems {
		if st.Pair != "" {
			pairs[st.Pair] = append(pairs[st.Pair], i)
		}
	}
	return pairs
}

// Open makes the stem playable; a mono one is heard on both channels.
func (st *Stem) Open() pcm.Source { return &stemSource{stem: st} }

type stemSource struct {
	stem *Stem
	at   int
}

var _ pcm.Source = (*stemSource)(nil)

func (s *stemSource) Format() pcm.Format {
	return pcm.Format{Container: "built in", Codec: "rendered", RateHz: rateHz, Channels: len(s.stem.PCM), Bits: 24, Frames: int64(len(s.stem.PCM[0]))}
}

func (s *stemSource) Stream(buf [][2]float64) (int, bool) {
	n := s.stem.read(buf, s.at)
	s.at += n
	return n, n > 0
}

func (s *stemSource) Err() error { return nil }

// Frames copies the frames from start on into dst, a mono stem on both
// channels, and is how many there are.
func (st *Stem) Frames(dst []dsp.Frame, start int) int {
	if start < 0 || start >= len(st.PCM[0]) {
		return 0
	}
	return st.read(dst, start)
}

// read fills buf with the frames from one on, and tells how many.
func (st *Stem) read(buf []dsp.Frame, from int) int {
	left, right := st.PCM[0], st.PCM[len(st.PCM)-1]
	n := min(len(buf), len(left)-from)
	for i := range n {
		buf[i] = dsp.Frame{float64(left[from+i]), float64(right[from+i])}
	}
	return n
}

// peak is the largest value of all channels.
func (st *Stem) peak() float64 {
	var peak float32
	for _, x := range st.PCM {
		for _, v := range x {
			if v < 0 {
				v = -v
			}
			if v > peak {
				peak = v
			}
		}
	}
	return float64(peak)
}
