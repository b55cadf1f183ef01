package demo

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
)

// How far people are from machines. Common practice, no source.
const (
	timingMS = 4.0  // standard deviation of when a note begins
	touchDB  = 1.2  // of how loud it is
	strumMS  = 9.0  // from note to note of a chord
	leadS    = 0.25 // before the first beat
	tailS    = 1.5  // after the last bar
)

// take is what a seed decides before a note is played.
type take struct {
	*score
	seed  uint64
	tempo float64
	shift int
	form  []string
}

// take is the take of a seed. The seed of the score itself gives what is
// written; any other one a tempo and a key within its ranges.
func (s *score) take(seed uint64) take {
	t := take{score: s, seed: seed, tempo: s.tempo[0]}
	r := rand.New(rand.NewPCG(seed, math.MaxUint64))
	for _, choice := range s.form {
		parts := strings.Split(choice, "/")
		i := r.IntN(len(parts))
		if seed == s.seed {
			i = 0
		}
		t.form = append(t.form, parts[i])
	}
	if seed != s.seed {
		t.tempo = math.Round(s.tempo[1] + r.Float64()*(s.tempo[2]-s.tempo[1]))
		t.shift = s.shift[0] + r.IntN(s.shift[1]-s.shift[0]+1)
	}
	return t
}

// chance is everything that is left to chance for the i-th of something. It
// depends on the seed and on i alone, so that no stem changes with another.
func (t take) chance(i int) *rand.Rand { return rand.New(rand.NewPCG(t.seed, uint64(i))) }

func (t take) barFrames() float64 { return float64(t.beats) * 60 / t.tempo * rateHz }

// frames is the length of the whole.
func (t take) frames() int {
	n := 0
	for _, part := range t.form {
		n += t.bars(part)
	}
	return int(leadS*rateHz + float64(n)*t.barFrames() + tailS*rateHz)
}

// beatFrames are all beats, as frames; the last is the end of the last bar.
func (t take) beatFrames() []int {
	var beats []int
	n := 0
	for _, part := range t.form {
		n += t.bars(part) * t.beats
	}
	for i := range n + 1 {
		beats = append(beats, int(math.Round(leadS*rateHz+float64(i)*60/t.tempo*rateHz)))
	}
	return beats
}

// sections are the parts in order.
func (t take) sections() []Section {
	var all []Section
	at := leadS * rateHz
	for _, part := range t.form {
		end := at + float64(t.bars(part))*t.barFrames()
		all = append(all, Section{Name: part, Span: Span{int(math.Round(at)), int(math.Round(end))}})
		at = end
	}
	return all
}

// event is one note, or one hit, that a source plays.
type event struct {
	start, stop float64 // frames; stop is +Inf where it rings on
	key         float64 // MIDI note number, where it has one
	name        string  // as written
	word        string  // syllable
	levelDB     float64
	soft        bool
	consonant   int // frames of the syllable before start
}

// events are all notes of a source, in order.
func (t take) events(src *sourceScore, r *rand.Rand) []event {
	p := playing{take: t, src: src, r: r}
	start := leadS * rateHz
	for _, part := range t.form {
		bars := t.parts[part][src.name]
		if len(bars) == 0 {
			bars = t.parts[part][src.plays]
		}
		for n := range t.bars(part) {
			if len(bars) > 0 {
				p.bar(bars[n%len(bars)], start)
			} else {
				p.damp(start)
			}
			start += t.barFrames()
		}
	}
	p.damp(start + tailS*rateHz/2)
	slices.SortStableFunc(p.events, func(a, b event) int { return int(a.start) - int(b.start) })
	return p.events
}

// playing is a source at its place in the score. Events from index sounding on
// have not ended.
type playing struct {
	take
	src      *sourceScore
	r        *rand.Rand
	events   []event
	sounding int
}

func (p *playing) bar(b bar, start float64) {
	if p.src.pedal {
		p.damp(start)
	}
	step := p.barFrames() / float64(len(b))
	for i, text := range b {
		at := start + float64(i)*step
		if i%2 == 1 && len(b) == 4*p.beats { // sixteenths
			at += p.swing / 100 * step
		}
		switch {
		case text == "." && p.src.kind != "hits":
			p.damp(at)
		case text != "." && text != "-":
			p.token(parseToken(text), at)
		}
	}
}

// damp ends whatever sounds, but for hits that are not choked.
func (p *playing) damp(at float64) {
	if p.src.kind == "hits" && !p.src.choke {
		return
	}
	for i := p.sounding; i < len(p.events); i++ {
		p.events[i].stop = min(p.events[i].stop, max(at, p.events[i].start+1))
	}
	p.sounding = len(p.events)
}

func (p *playing) token(t token, at float64) {
	played := p.r.IntN(2) == 0 || !t.perhaps
	at = max(0, at+normal(p.r)*p.src.looseMS/1000*rateHz)
	if !played {
		return
	}
	if p.src.choke || p.src.kind == "string" || p.src.kind == "synth" || p.src.kind == "voice" {
		p.damp(at)
	}
	for i, name := range t.names {
		e := event{start: at, stop: math.Inf(1), name: name, word: t.word, soft: t.soft}
		e.levelDB = t.accent + touchDB*normal(p.r)
		if p.src.looseMS > 0 {
			e.start += float64(i) * strumMS / 1000 * rateHz * p.r.Float64()
		}
		if p.src.kind != "hits" {
			e.key, _ = parseNote(name) // it was read once already
			e.key += float64(p.shift)
		}
		p.events = append(p.events, e)
	}
}

// normal is a normal deviate that never strays beyond 2.5.
func normal(r *rand.Rand) float64 { return min(max(r.NormFloat64(), -2.5), 2.5) }
