package demo

import (
	"math"

	"strop/dsp"
)

// label is what is known of the stem without rendering it.
func (st *stemScore) label() Label {
	l := Label{
		Name: st.name, Role: Role(st.role), Pair: st.pair, Source: st.of.name, Mic: st.mic,
		Inverted: st.inverted, LimitHz: st.of.limitHz(), Synthetic: st.of.kind == "voice", Channels: 1,
	}
	if st.mic {
		l.DistanceM = st.at.distance(st.of.at)
	} else if st.side == 0 {
		l.Channels = st.of.channels()
	}
	return l
}

// plug copies a source to a line.
func (s *Stem) plug(st *stemScore, src track) {
	for c := range s.PCM {
		from := c
		if st.side > 0 {
			from = min(int(st.side)-1, len(src)-1)
		}
		for i, v := range src[from] {
			s.PCM[c][i] = float32(v)
		}
	}
}

// pairPeak is the peak of the stem, or of both of a stereo pair: their
// preamplifiers are set alike.
func (r *rendering) pairPeak(i int) (peak float64) {
	one := r.score.stems[i]
	peak = r.peaks[i]
	for j, other := range r.score.stems {
		if one.pair != "" && other.pair == one.pair && one.pan != 0 && other.pan == -one.pan {
			peak = max(peak, r.peaks[j])
		}
	}
	return peak
}

// deliver scales channel c, adds noise and hum, and rounds to 24 bits.
func (s *Stem) deliver(c int, ratio float64, h hiss, mains hum) {
	x := s.PCM[c]
	turn := 2 * math.Pi * mainsHz / rateHz
	for i, v := range x {
		y := ratio*float64(v) + h.at(i)
		if mains.ratio > 0 {
			y += mains.at(turn * float64(i))
		}
		x[i] = float32(math.RoundToEven(y*(1<<23)) / (1 << 23))
	}
}

// hiss is pink noise, from another place on for each stem: places far from
// each other, by the golden ratio.
type hiss struct {
	noise []float64
	place int
	ratio float64
}

func newHiss(frames int, seed uint64) hiss {
	buf := make([]dsp.Frame, (frames+1)/2)
	dsp.NewPink(rateHz, seed).Fill(buf)
	h := hiss{noise: make([]float64, 0, 2*len(buf))}
	for c := range 2 {
		for _, f := range buf {
			h.noise = append(h.noise, f[c])
		}
	}
	return h
}

func (h hiss) from(i int, ratio float64) hiss {
	return hiss{h.noise, int(0.618034*float64(i+1)*float64(len(h.noise))) % len(h.noise), ratio}
}

func (h hiss) at(i int) float64 {
	i += h.place
	if i >= len(h.noise) {
		i -= len(h.noise)
	}
	return h.ratio * h.noise[i]
}

// hum is what the mains leave: partials at the levels that are common, no
// source.
type hum struct{ ratio float64 }

const mainsHz = 50

func (h hum) at(phase float64) float64 {
	return h.ratio * (math.Sin(phase) + 0.32*math.Sin(2*phase+1) + 0.5*math.Sin(3*phase+2) + 0.2*math.Sin(5*phase+0.5))
}

// label makes the stems with all that is known of them but their frames.
func (r *rendering) label() {
	for i, st := range r.score.stems {
		r.stems = append(r.stems, Stem{Label: st.label(), mixLUFS: st.mixLUFS, pan: st.pan})
		r.describe(i, st)
	}
}

// describe tells what the stem plays, where that can be heard: at the time at
// which it arrives.
func (r *rendering) describe(i int, st *stemScore) {
	s := &r.stems[i]
	late := s.DistanceM / soundMPS * rateHz
	src := st.of
	if src.kind == "amp" {
		src = r.source(src.amp.of)
	}
	if src.kind == "hits" {
		return
	}
	for _, e := range r.notes[src] {
		from := int(e.start + late)
		to := int(min(e.stop+late, float64(r.frames())))
		s.Notes = append(s.Notes, Note{Span{from, to}, int(math.Round(e.key))})
		if k := kindOf(e.word); k != "" {
			s.Consonants = append(s.Consonants, Consonant{Span{max(0, from-e.consonant), from}, k})
		}
	}
}
