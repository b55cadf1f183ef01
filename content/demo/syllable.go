package demo

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"github.com/jfreymuth/oggvorbis"

	"strop/dsp/eq"
)

// Kind is what a consonant is.
type Kind string

// The consonants that faults of a recording depend on.
const (
	Plosive  Kind = "plosive"
	Sibilant Kind = "sibilant"
)

// onset is the consonant before the first hyphen of a syllable's name, or the
// whole of one that has no other vowel.
func onset(word string) string {
	c, _, _ := strings.Cut(word, "-")
	return c
}

// kindOf is the kind of a syllable's consonant, "" for others. The affricates
// begin with a closure, but what is heard of them is the hiss.
func kindOf(word string) Kind {
	switch onset(word) {
	case "b", "p", "d", "t", "g", "k":
		return Plosive
	case "s", "sh", "x", "c", "ch", "q", "z", "zh", "j":
		return Sibilant
	}
	return ""
}

func voicePath(word string) string { return "voice/" + word + ".ogg" }

func isSyllable(word string) bool {
	f, err := files.Open("bank/" + voicePath(word))
	if err != nil || strings.ContainsAny(word, "/.") {
		return false
	}
	f.Close()
	return true
}

// syllable is a recording with a mark on each of its periods.
type syllable struct {
	x                    []float64
	consonant            int // frames before the first mark, where the vowel begins
	period               float64
	marks                []int
	gains                []float64 // that make all marks of the middle equally loud
	steadyFrom, steadyTo int       // marks of the middle
	window               []float64 // of one grain, two periods long
}

// readVoice decodes a recording of the voice to the rate of the bank.
func readVoice(word string, ks *kernels) ([]float64, error) {
	data, err := files.ReadFile("bank/" + voicePath(word))
	if err != nil {
		return nil, fmt.Errorf("there is no syllable %s in the bank", word)
	}
	raw, format, err := oggvorbis.ReadAll(bytes.NewReader(data))
	if err != nil || format.Channels != 1 {
		return nil, fmt.Errorf("syllable %s is not mono Vorbis: %v", word, err)
	}
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = float64(v)
	}
	step := float64(format.SampleRate) / rateHz
	k, y := ks.forRate(1, 0), make([]float64, int(float64(len(x))/step))
	for i := range y {
		y[i] = k.at(x, float64(i)*step)
	}
	filter(y, eq.CookbookHighShelf(rateHz, 5000, presenceDB, 1))
	return y, nil
}

// presenceDB is what a microphone for voices adds above 5 kHz; the recordings
// are darker than people are used to. Common practice, no source.
const presenceDB = 6

const (
	voiceLowHz, voiceHighHz = 280, 520 // the voice speaks at 370 to 415 Hz
	likeEnough              = 0.55     // correlation of two periods of a vowel
)

// readSyllable decodes and marks a syllable.
func readSyllable(word string, ks *kernels) (*syllable, error) {
	x, err := readVoice(word, ks)
	if err != nil {
		return nil, err
	}
	s := &syllable{x: trim(x)}
	if !s.mark() {
		return nil, fmt.Errorf("syllable %s has no vowel to be held", word)
	}
	s.level()
	half := int(s.period)
	for i := -half; i <= half; i++ {
		s.window = append(s.window, 0.5+0.5*math.Cos(math.Pi*float64(i)/float64(half+1)))
	}
	return s, nil
}

// trim cuts what lies 40 dB below the peak off the start.
func trim(x []float64) []float64 {
	peak := peakOf(x)
	for i, v := range x {
		if math.Abs(v) > 0.01*peak {
			return x[max(0, i-48):]
		}
	}
	return x
}

func peakOf(x []float64) float64 {
	low, high := 0.0, 0.0
	for _, v := range x {
		if v > high {
			high = v
		}
		if v < low {
			low = v
		}
	}
	return max(high, -low)
}

// mark finds the periods: from the loudest place to both ends, each where the
// sound is most like the period before.
func (s *syllable) mark() bool {
	centre, best := s.loudest(), 0.0
	s.period, best = s.pitch(centre)
	if best < likeEnough {
		return false
	}
	after := s.follow(centre, 1)
	before := s.follow(centre, -1)
	for i := len(before) - 1; i >= 0; i-- {
		s.marks = append(s.marks, before[i])
	}
	s.marks = append(append(s.marks, centre), after...)
	s.consonant = s.marks[0]
	n := len(s.marks)
	s.steadyFrom, s.steadyTo = n/4, max(n/4+1, 3*n/5)
	return n >= 12
}

// loudest is the highest peak of the middle of the sound.
func (s *syllable) loudest() int {
	from, to := len(s.x)*2/5, len(s.x)*3/5
	at := from
	for i := from; i < to; i++ {
		if s.x[i] > s.x[at] {
			at = i
		}
	}
	return at
}

// pitch is the period around a place, and how much alike two of them are.
func (s *syllable) pitch(at int) (period, like float64) {
	for lag := rateHz / voiceHighHz; lag <= rateHz/voiceLowHz; lag++ {
		if c := s.like(at, at+lag, 2*lag); c > like {
			period, like = float64(lag), c
		}
	}
	return period, like
}

// like is the correlation of n frames around two places.
func (s *syllable) like(a, b, n int) float64 {
	a, b = a-n/2, b-n/2
	if a < 0 || b < 0 || a+n > len(s.x) || b+n > len(s.x) {
		return -1
	}
	var ab, aa, bb float64
	for i := range n {
		p, q := s.x[a+i], s.x[b+i]
		ab, aa, bb = ab+p*q, aa+p*p, bb+q*q
	}
	return ab / math.Sqrt(aa*bb+1e-20)
}

// follow marks periods in one direction until they are no longer alike.
func (s *syllable) follow(from, direction int) (marks []int) {
	period := s.period
	for {
		at, best := 0, likeEnough
		for lag := int(0.88 * period); lag <= int(1.12*period); lag++ {
			if c := s.like(from, from+direction*lag, int(1.5*period)); c > best {
				at, best = from+direction*lag, c
			}
		}
		if at == 0 {
			return marks
		}
		period += 0.3 * (math.Abs(float64(at-from)) - period)
		marks, from = append(marks, at), at
	}
}

// level makes the marks of the middle equally loud, and lets those after it
// keep their fall.
func (s *syllable) level() {
	s.gains = make([]float64, len(s.marks))
	rms := func(mark int) float64 {
		sum, n := 0.0, int(s.period)
		from := max(0, s.marks[mark]-n)
		for _, v := range s.x[from:min(len(s.x), from+2*n)] {
			sum += v * v / float64(2*n)
		}
		return math.Sqrt(sum)
	}
	target := rms((s.steadyFrom + s.steadyTo) / 2)
	for i := range s.gains {
		s.gains[i] = 1
		if i >= s.steadyFrom {
			s.gains[i] = min(3, target/(rms(min(i, s.steadyTo-1))+1e-9))
		}
	}
	// The whole at one loudness, so that no syllable sticks out.
	for i := range s.x {
		s.x[i] *= 0.2 / (target + 1e-9)
	}
}
