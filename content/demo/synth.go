package demo

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

// synthScore is an oscillator with a filter and an envelope. Its wave is a sum
// of harmonics that ends at 18 kHz, so nothing folds back.
//
//	shape    saw, square, triangle, sine or noise      saw
//	unison   oscillators a note, 1 to 7                1
//	detune   between the outermost of them, in cents   14
//	attack, decay, release  of the envelope, in s      0.005 0.3 0.1
//	sustain  ratio                                     0.7
//	cut      cut-off of the filter, in Hz              20000
//	sweep    octaves by which the envelope opens it    0
//	drop     octaves by which a note begins too high   0
//	rise     octaves by which the filter opens while a note lasts   0
//
// More than one oscillator is spread over two channels. All harmonics lie on
// whole multiples of the note.
type synthScore struct {
	shape                              string
	unison, detuneCents                float64
	attackS, decayS, sustain, releaseS float64
	cutHz, sweepOct, dropOct, riseOct  float64
}

var plainSynth = synthScore{shape: "saw", unison: 1, detuneCents: 14, attackS: 0.005, decayS: 0.3, sustain: 0.7, releaseS: 0.1, cutHz: 20000}

func (s *synthScore) fields(f fields) {
	f.words["shape"] = &s.shape
	for name, figure := range map[string]*float64{
		"unison": &s.unison, "detune": &s.detuneCents, "attack": &s.attackS, "decay": &s.decayS,
		"sustain": &s.sustain, "release": &s.releaseS, "cut": &s.cutHz, "sweep": &s.sweepOct,
		"drop": &s.dropOct, "rise": &s.riseOct,
	} {
		f.figures[name] = figure
	}
}

func (s synthScore) channels() int {
	if s.unison > 1 {
		return 2
	}
	return 1
}

const (
	waveLen   = 1 << 13
	waveTopHz = 18000
)

// wave is one period of a shape with the harmonics that a note leaves room
// for, of rms 0.3; the first three values follow again after the last.
func (s synthScore) wave(freqHz float64) []float64 {
	wave, sine := make([]float64, waveLen+3), make([]float64, waveLen)
	for i := range sine {
		sine[i] = math.Sin(2 * math.Pi * float64(i) / waveLen)
	}
	power := 0.0
	for h := 1; float64(h)*freqHz <= waveTopHz; h++ {
		a := s.harmonic(h)
		if a == 0 {
			continue
		}
		power += a * a / 2
		for i, at := 0, 0; i < waveLen; i++ {
			wave[i] += a * sine[at]
			at = (at + h) & (waveLen - 1)
		}
	}
	for i := range waveLen {
		wave[i] *= 0.3 / math.Sqrt(power)
	}
	copy(wave[waveLen:], wave[:3])
	return wave
}

// harmonic is the amplitude of the h-th harmonic, from the Fourier series of
// the shape.
func (s synthScore) harmonic(h int) float64 {
	n := float64(h)
	switch {
	case s.shape == "sine":
		return float64(1 / h)
	case s.shape == "saw":
		return 1 / n
	case h%2 == 0:
		return 0
	case s.shape == "triangle":
		return math.Cos(math.Pi*(n-1)/2) / (n * n)
	}
	return 1 / n // square
}

func (src *sourceScore) playSynth(dst track, events []event, r *rand.Rand) {
	waves := map[float64][]float64{}
	for _, e := range events {
		freqHz := 440 * math.Exp2((e.key-69)/12)
		if waves[e.key] == nil && src.synth.shape != "noise" {
			waves[e.key] = src.synth.wave(freqHz)
		}
		n := synthNote{synthScore: src.synth, wave: waves[e.key], freqHz: freqHz, r: r}
		n.tune(dsp.FromDB(e.levelDB), len(dst))
		n.play(dst, e)
	}
}

// synthNote is a note of oscillators, and a filter for each channel.
type synthNote struct {
	synthScore
	wave        []float64
	freqHz      float64
	oscillators []oscillator
	filters     [2]openFilter
	r           *rand.Rand
}

// oscillator is one of those of a note.
type oscillator struct {
	pitch, phase float64 // re the note; in values of the wave
	ratio        dsp.Frame
}

// tune makes the oscillators: spread in pitch, and over the channels.
func (s *synthNote) tune(gain float64, channels int) {
	n := max(1, int(s.unison))
	gain /= math.Sqrt(float64(n))
	for i := range n {
		place := 0.0 // −1 to 1
		if n > 1 {
			place = 2*float64(i)/float64(n-1) - 1
		}
		o := oscillator{pitch: math.Exp2(s.detuneCents / 2400 * place), phase: s.r.Float64() * waveLen}
		if n == 1 {
			o.phase = 0
		}
		if i%2 == 1 {
			place = -place
		}
		angle := (place + 1) * math.Pi / 4
		o.ratio = dsp.Frame{gain * math.Cos(angle), gain * math.Sin(angle)}
		if channels == 1 {
			o.ratio[0] = gain
		}
		s.oscillators = append(s.oscillators, o)
	}
}

// synthStep is how many frames filter and pitch stay for.
const synthStep = 32

// play adds the note.
func (s *synthNote) play(dst track, e event) {
	end := min(e.stop, float64(len(dst[0])))
	last := min(len(dst[0]), int(end+5*s.releaseS*rateHz))
	fall, level := math.Exp(-1/(max(s.releaseS, 0.002)*rateHz)), 0.0
	for from := max(int(e.start), 0); from < last; from += synthStep {
		to := min(from+synthStep, last)
		t := float64(from) - e.start
		before := level
		if float64(from) < end {
			level = s.envelope(t / rateHz)
		} else {
			level *= math.Pow(fall, synthStep)
		}
		freqHz := s.freqHz * math.Exp2(s.dropOct*math.Exp(-t/(0.03*rateHz)))
		cutHz := s.cutHz * math.Exp2(s.sweepOct*level+s.riseOct*t/max(1, end-e.start))
		s.block(dst, from, to, before, level, freqHz, min(cutHz, 20000))
	}
}

// envelope is the level t seconds after the start.
func (s *synthNote) envelope(t float64) float64 {
	if t < s.attackS {
		return max(0, t/s.attackS)
	}
	return s.sustain + (1-s.sustain)*math.Exp(-(t-s.attackS)/max(s.decayS, 0.001))
}

// block adds frames, synthStep at most: all oscillators, through the filter of
// each channel.
func (s *synthNote) block(dst track, from, to int, level, target, freqHz, cutHz float64) {
	var raw [2][synthStep]float64
	for i := range s.oscillators {
		o := &s.oscillators[i]
		if s.wave == nil {
			o.hiss(raw[0][:to-from], raw[1][:to-from], s.r)
		} else {
			o.turn(raw[0][:to-from], raw[1][:to-from], s.wave, freqHz*o.pitch)
		}
	}
	for c := range dst {
		s.filters[c].add(dst[c][from:to], raw[c][:to-from], level, target, cutHz)
	}
}

// turn adds the wave, read between its values by a third-order polynomial.
func (o *oscillator) turn(left, right, wave []float64, freqHz float64) {
	phase, turn := o.phase, freqHz/rateHz*waveLen
	right = right[:len(left)]
	for i := range left {
		at := int(phase)
		x := cubic(wave[(at+waveLen-1)&(waveLen-1)], wave[at], wave[at+1], wave[at+2], phase-float64(at))
		if phase += turn; phase >= waveLen {
			phase -= waveLen
		}
		left[i] += o.ratio[0] * x
		right[i] += o.ratio[1] * x
	}
	o.phase = phase
}

func (o *oscillator) hiss(left, right []float64, r *rand.Rand) {
	for i := range left {
		x := 0.3 * r.NormFloat64()
		left[i] += o.ratio[0] * x
		right[i] += o.ratio[1] * x
	}
}

// openFilter is a state-variable low-pass of Q 0.9.
//
// Source: Zavalishin, The Art of VA Filter Design (2012), 4 (from memory).
type openFilter struct{ low, band float64 }

// add filters x and adds it to dst, its level going from one to another.
func (f *openFilter) add(dst, x []float64, level, target, cutHz float64) {
	g, k := math.Tan(math.Pi*cutHz/rateHz), 1/0.9
	a1 := 1 / (1 + g*(g+k))
	low, band, slope := f.low, f.band, (target-level)/float64(len(x))
	for i, v := range x {
		v1 := a1 * (band + g*(v-low))
		v2 := low + g*v1
		band, low = 2*v1-band, 2*v2-low
		level += slope
		dst[i] += level * v2
	}
	f.low, f.band = low, band
}

// cubic is the polynomial of third order through four values, x after b.
func cubic(a, b, c, d, x float64) float64 {
	return b + x*((c-a/3-b/2-d/6)+x*((a+c)/2-b+x*((d-a)/6+(b-c)/2)))
}
