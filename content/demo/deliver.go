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

// coupledHz is where the capacitors between a microphone, or an instrument, and
// a converter end: no preamplifier lets a steady offset through, as skins,
// bodies and synthesisers leave it. Common practice, no source.
const coupledHz = 10

// couple is their first-order high-pass, −3 dB at coupledHz.
func (s *Stem) couple() {
	smooth := math.Exp(-2 * math.Pi * coupledHz / rateHz)
	for _, x := range s.PCM {
		low := 0.0
		for i, v := range x {
			low = smooth*low + (1-smooth)*float64(v)
			x[i] = float32(float64(v) - low)
		}
	}
}

// deliver scales channel c, adds noise and hum, and rounds to 24 bits.
func (s *Stem) deliver(c int, ratio float64, h hiss, mains hum) {
	x := s.PCM[c]
	for i, v := range x {
		y := ratio*float64(v) + h.at(i)
		if mains.ratio > 0 {
			y += mains.at(i)
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

// hum is what the mains leave, a turn of it, as often as it takes.
type hum struct {
	turn  []float64
	ratio float64
}

const mainsHz = 50

// newMains is a turn of the mains: partials at the levels that are common, no
// source.
func newMains() []float64 {
	turn := make([]float64, rateHz/mainsHz)
	for i := range turn {
		at := 2 * math.Pi * float64(i) / float64(len(turn))
		turn[i] = math.Sin(at) + 0.32*math.Sin(2*at+1) + 0.5*math.Sin(3*at+2) + 0.2*math.Sin(5*at+0.5)
	}
	return turn
}

func (h hum) at(i int) float64 { return h.ratio * h.turn[i%len(h.turn)] }

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
	for _, e := range r.notes[src] {
		span := Span{int(e.start + late), int(min(e.stop+late, float64(r.frames())))}
		for _, key := range r.keys(src, e) {
			s.Notes = append(s.Notes, Note{span, int(math.Round(key))})
		}
		if k := kindOf(e.word); k != "" {
			s.Consonants = append(s.Consonants, Consonant{Span{max(0, span.From-e.consonant), span.From}, k})
		}
	}
}

// keys are the notes of an event: one, those of a chord, or none of a drum or
// of noise.
func (r *rendering) keys(src *sourceScore, e event) (keys []float64) {
	switch {
	case src.kind == "synth" && src.synth.shape == "noise":
		return nil
	case src.kind != "hits":
		return []float64{e.key}
	}
	snd, _, err := src.find(e.name, 0)
	if err != nil {
		return nil // it was read once already
	}
	for _, key := range snd.chord {
		keys = append(keys, key+float64(r.shift))
	}
	return keys
}
