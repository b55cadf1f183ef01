package demo

import (
	"fmt"
	"math"
	"math/rand/v2"

	"strop/dsp"
	"strop/dsp/measure"
)

// How far people are from machines. Common practice, no source.
const (
	timingMS   = 4.0   // standard deviation of when a note begins
	touchDB    = 1.2   // of how loud it is
	strikeRate = 0.01  // greatest change of rate of a sound without pitch
	pitchRate  = 0.001 // of one with: 1.7 cents
	strumMS    = 9.0   // from note to note of a chord
)

// The whole, as it leaves the renderer. The level is our own choice: it
// leaves room for any drill and is no target for anybody's mix.
const (
	leadS        = 0.25 // before the first beat
	tailS        = 1.5  // after the last bar
	loudnessLUFS = -20
)

// stem is one instrument, at its place, without the room.
type stem struct {
	name   string
	roomDB float64
	frames []dsp.Frame
}

// bars is how many bars a part has: those of its longest stem.
func (s *score) bars(part string) (n int) {
	for _, b := range s.parts[part] {
		n = max(n, len(b))
	}
	return n
}

func (s *score) barFrames() float64 { return float64(s.beats) * 60 / s.tempo * rateHz }

// frames is the length of the whole.
func (s *score) frames() int {
	n := 0
	for _, part := range s.form {
		n += s.bars(part)
	}
	return int(leadS*rateHz + float64(n)*s.barFrames() + tailS*rateHz)
}

// render plays the score: the same score gives the same frames.
func (s *score) render() ([]dsp.Frame, error) {
	mix, wet := make([]dsp.Frame, s.frames()), make([]dsp.Frame, s.frames())
	ks, hiss := kernels{}, make([]dsp.Frame, s.frames())
	dsp.NewPink(rateHz, s.seed).Fill(hiss)
	for i := range s.stems {
		st, err := s.renderStem(i, hiss, ks)
		if err != nil {
			return nil, err
		}
		add(mix, st.frames, 1)
		add(wet, st.frames, dsp.FromDB(st.roomDB))
	}
	newRoom().Process(wet)
	add(mix, wet, 1)
	return mix, setLoudness(mix, loudnessLUFS)
}

func add(dst, src []dsp.Frame, ratio float64) {
	for i, f := range src {
		dst[i][0] += ratio * f[0]
		dst[i][1] += ratio * f[1]
	}
}

// setLoudness brings frames to a loudness by one gain.
func setLoudness(frames []dsp.Frame, lufs float64) error {
	is := measure.IntegratedLUFS(frames, rateHz)
	if math.IsInf(is, 0) || math.IsNaN(is) {
		return fmt.Errorf("there is nothing to be heard in it")
	}
	dsp.Gain(dsp.FromDB(lufs - is)).Process(frames)
	return nil
}

// renderStem plays the i-th stem. Its chances depend on the seed and on i
// alone, so that no stem changes when another one does. Its noise floor is
// the hiss, from another place on for each stem.
func (s *score) renderStem(i int, hiss []dsp.Frame, ks kernels) (stem, error) {
	sc := s.stems[i]
	st := stem{name: sc.name, roomDB: sc.roomDB, frames: make([]dsp.Frame, s.frames())}
	voices, err := s.voices(sc, rand.New(rand.NewPCG(s.seed, uint64(i))))
	if err != nil {
		return st, err
	}
	for _, v := range voices {
		v.addTo(st.frames, ks)
	}
	if err := setLoudness(st.frames, sc.levelDB); err != nil {
		return st, fmt.Errorf("stem %s: %w", sc.name, err)
	}
	place := int(0.618*float64(i+1)*float64(len(hiss))) % len(hiss) // far from each other: the golden ratio
	add(st.frames, hiss[place:], dsp.FromDB(sc.floorDB))
	add(st.frames[len(hiss)-place:], hiss[:place], dsp.FromDB(sc.floorDB))
	return st, nil
}

// voices are all notes of a stem, in order.
func (s *score) voices(sc stemScore, r *rand.Rand) ([]voice, error) {
	bank, err := sc.bank()
	if err != nil {
		return nil, err
	}
	var voices []voice
	from := 0 // of the notes that sound now
	start := leadS * rateHz
	for _, part := range s.form {
		bars := s.parts[part][sc.name]
		for n := range s.bars(part) {
			if len(bars) > 0 {
				b := bars[n%len(bars)]
				for i, token := range b {
					at := start + float64(i)/float64(len(b))*s.barFrames()
					from, voices = sc.play(token, at, from, voices, bank, r)
				}
			}
			start += s.barFrames()
		}
	}
	return voices, nil
}

// play adds the voices of a token. Those from index from on are sounding: a
// rest damps them where the stem is pitched, a new note where it chokes.
func (sc stemScore) play(token string, at float64, from int, voices []voice, bank map[string]sample, r *rand.Rand) (int, []voice) {
	notes, _ := sc.notes(token) // they were read once already
	if (token == "." && sc.pitched) || (len(notes) > 0 && sc.choke) {
		for i := from; i < len(voices); i++ {
			voices[i].stop = min(voices[i].stop, at)
		}
	}
	if len(notes) == 0 {
		return from, voices
	}
	from = len(voices)
	at += min(max(r.NormFloat64(), -2.5), 2.5) * timingMS / 1000 * rateHz
	for i, n := range notes {
		voices = append(voices, sc.voice(n, at+float64(i)*strumMS/1000*rateHz*r.Float64(), bank, r))
	}
	return from, voices
}

func (sc stemScore) voice(n note, at float64, bank map[string]sample, r *rand.Rand) voice {
	take := n.sound.samples[r.IntN(len(n.sound.samples))]
	levelDB := n.levelDB + touchDB*min(max(r.NormFloat64(), -2.5), 2.5)
	bend := strikeRate
	if sc.pitched {
		bend = pitchRate
	}
	angle := (sc.pan + 1) * math.Pi / 4 // constant power
	ratio := dsp.FromDB(levelDB) * math.Sqrt2
	return voice{
		sample: bank[take],
		start:  at,
		stop:   math.Inf(1),
		rate:   n.rate * (1 + bend*(2*r.Float64()-1)),
		ratio:  dsp.Frame{ratio * math.Cos(angle), ratio * math.Sin(angle)},
		softHz: 20000 * dsp.FromDB(min(levelDB, 0)), // half an octave lower for 3 dB softer
	}
}

// bank is every sample that the stem uses.
func (sc stemScore) bank() (bank map[string]sample, err error) {
	bank = map[string]sample{}
	for _, snd := range sc.sounds {
		for _, path := range snd.samples {
			if bank[path], err = readSample(path); err != nil {
				return nil, err
			}
		}
	}
	return bank, nil
}
