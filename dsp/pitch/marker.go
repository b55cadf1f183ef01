package pitch

import (
	"math"

	"strop/dsp"
	"strop/dsp/yin"
)

// A marker marks the periods of a voice in a stream, and where there is no
// period every 5 ms. The first mark of a run of periods is on the centre of its
// power, each other where the sound is most like that around the one before.
type marker struct {
	hop, shortest, longest int // frames: from one look to the next; periods
	finder                 *yin.Finder
	sound                  history   // both channels
	mono                   []float64 // their sum, frame by frame of sound
	periods                []float64 // by hop, the last ones; 0 where there is none
	looked                 int       // frame in the middle of the last look
	marks                  marks
}

// mark is a place in a stream, and whether the next one is a period away.
type mark struct {
	place  float64
	voiced bool
}

// marks are the last ones, by number.
type marks struct {
	ring        [1 << 10]mark
	first, last int
}

func (m *marks) at(i int) mark { return m.ring[i&(len(m.ring)-1)] }

func (m *marks) add(x mark) {
	m.last++
	m.ring[m.last&(len(m.ring)-1)] = x
	m.first = max(m.first, m.last-len(m.ring)+1)
}

const (
	lowestVoiceHz  = 65
	highestVoiceHz = 1000
	voiceThreshold = 0.2 // of d'; speech is rougher than the 0.1 of the paper
	lookBack       = 16  // hops whose periods are kept
)

func newMarker(rateHz float64) *marker {
	m := &marker{
		hop:      int(0.005 * rateHz),
		shortest: int(rateHz / highestVoiceHz), longest: int(math.Ceil(rateHz / lowestVoiceHz)),
		periods: make([]float64, lookBack),
	}
	m.finder = yin.New(int(0.02*rateHz), m.longest+2)
	size := m.finder.Frames() + 8*m.longest + 4*m.hop
	m.sound, m.mono = newHistory(size), make([]float64, size)
	m.reset()
	return m
}

// delay is how many frames after it was heard all is known that a frame needs:
// the look around it, and the periods beside it.
func (m *marker) delay() int { return m.finder.Frames()/2 + 5*m.longest + 2*m.hop }

func (m *marker) reset() {
	m.sound.reset(-len(m.sound.frames), 0)
	clear(m.mono)
	clear(m.periods)
	m.looked = -m.finder.Frames() / 2
	m.marks.first, m.marks.last = 0, -1
	for i := range 3 {
		m.marks.add(mark{place: float64((i+1)*m.hop - m.delay())})
	}
}

// take takes a hop of sound in and marks what can be marked.
func (m *marker) take(in []dsp.Frame) {
	m.sound.drop(m.sound.base + len(in))
	copy(m.sound.grow(len(in)), in)
	copy(m.mono, m.mono[len(in):])
	tail := m.mono[len(m.mono)-len(in):]
	for i, x := range in {
		tail[i] = x[0] + x[1]
	}
	m.look()
	for m.step() {
	}
}

// look finds the period around the middle of the last frames.
func (m *marker) look() {
	copy(m.periods, m.periods[1:])
	x := m.mono[len(m.mono)-m.finder.Frames():]
	lag := yin.First(m.finder.Compare(x), m.shortest, voiceThreshold)
	m.periods[lookBack-1] = float64(lag)
	m.looked = m.sound.end() - m.finder.Frames()/2
}

// period is that at a place, 0 where there is none or it is not known yet.
func (m *marker) period(place float64) float64 {
	ago := int(math.Round((float64(m.looked) - place) / float64(m.hop)))
	if ago < 0 || ago >= lookBack {
		return 0
	}
	return m.periods[lookBack-1-ago]
}

// step adds a mark if enough is known.
func (m *marker) step() bool {
	last := m.marks.at(m.marks.last)
	if last.place+1.25*float64(m.longest) > float64(m.looked) {
		return false
	}
	m.marks.add(m.after(last))
	return true
}

// after is the mark that comes after another.
func (m *marker) after(last mark) mark {
	if period := m.period(last.place); last.voiced && period > 0 {
		place := m.alike(last.place, period)
		return mark{place, m.period(place) > 0}
	}
	place := last.place + float64(m.hop)
	if period := m.period(place); period > 0 {
		return mark{m.centre(last.place+float64(m.hop)/2, period), true}
	}
	return mark{place, false}
}

// centre is where, within a period from a place on, the power lies: the phase
// of the square of the sound at the pitch. It is the sum of the phases from
// each harmonic to the next, so that around it they are as much in step as can
// be, and the envelope between two harmonics is as high as on them.
func (m *marker) centre(from, period float64) float64 {
	first, n := floor(from), int(math.Round(period))
	var re, im float64
	for i, v := range m.mono[first-m.sound.base:][:n] {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		re += v * v * cos
		im += v * v * sin
	}
	turns := turnOf(re, im)
	return float64(first) + (turns-math.Floor(turns))*float64(n)
}

// alike is the place, about a period after another, around which the sound is
// most like that around the other.
func (m *marker) alike(place, period float64) float64 {
	half, reach := int(period/2), max(2, int(period/8))
	from := floor(place)
	a := m.mono[from-half-m.sound.base:][:2*half]
	likeness := func(shift int) float64 {
		b := m.mono[from+shift-half-m.sound.base:][:2*half]
		ab, bb := 0.0, 1e-300
		for i, v := range a {
			ab += v * b[i]
			bb += b[i] * b[i]
		}
		return ab / math.Sqrt(bb)
	}
	nominal := int(math.Round(period))
	best, most := nominal, likeness(nominal)
	for d := 1; d <= reach; d++ {
		for _, shift := range [2]int{nominal - d, nominal + d} {
			if c := likeness(shift); c > most {
				best, most = shift, c
			}
		}
	}
	l, r := likeness(best-1), likeness(best+1)
	if bend := l - 2*most + r; bend < 0 && most > 0 {
		return place + float64(best) + min(max((l-r)/(2*bend), -0.5), 0.5)
	}
	return place + float64(best)
}
