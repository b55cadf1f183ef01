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
		n := max(1, int(src.synth.unison))
		for i := range n {
			o := oscillator{synthScore: src.synth, wave: waves[e.key], r: r}
			place := 0.0 // −1 to 1
			if n > 1 {
				place = 2*float64(i)/float64(n-1) - 1
			}
			o.freqHz = freqHz * math.Exp2(src.synth.detuneCents/2400*place)
			o.phase = r.Float64() * waveLen
			if n == 1 {
				o.phase = 0
			}
			gain := dsp.FromDB(e.levelDB) / math.Sqrt(float64(n))
			if i%2 == 1 {
				place = -place
			}
			angle := (place + 1) * math.Pi / 4
			o.ratio = dsp.Frame{gain * math.Cos(angle), gain * math.Sin(angle)}
			if len(dst) == 1 {
				o.ratio[0] = gain
			}
			o.play(dst, e)
		}
	}
}

// oscillator is one of those of a note.
type oscillator struct {
	synthScore
	wave          []float64
	freqHz, phase float64
	ratio         dsp.Frame
	low, band     float64 // of the filter
	r             *rand.Rand
}

// play adds the note in steps of 32 frames, for which filter and pitch stay.
func (o *oscillator) play(dst track, e event) {
	const step = 32
	end := min(e.stop, float64(len(dst[0])))
	last := min(len(dst[0]), int(end+5*o.releaseS*rateHz))
	fall, level := math.Exp(-1/(max(o.releaseS, 0.002)*rateHz)), 0.0
	for from := max(int(e.start), 0); from < last; from += step {
		to := min(from+step, last)
		t := float64(from) - e.start
		before := level
		if float64(from) < end {
			level = o.envelope(t / rateHz)
		} else {
			level *= math.Pow(fall, step)
		}
		freqHz := o.freqHz * math.Exp2(o.dropOct*math.Exp(-t/(0.03*rateHz)))
		cutHz := o.cutHz * math.Exp2(o.sweepOct*level+o.riseOct*t/max(1, end-e.start))
		o.block(dst, from, to, before, level, freqHz, min(cutHz, 20000))
	}
}

// envelope is the level t seconds after the start.
func (o *oscillator) envelope(t float64) float64 {
	if t < o.attackS {
		return max(0, t/o.attackS)
	}
	return o.sustain + (1-o.sustain)*math.Exp(-(t-o.attackS)/max(o.decayS, 0.001))
}

// block is the wave, read between its values by a third-order polynomial,
// through a state-variable low-pass of Q 0.9.
//
// Source of the filter: Zavalishin, The Art of VA Filter Design (2012),
// 4 (from memory).
func (o *oscillator) block(dst track, from, to int, level, target, freqHz, cutHz float64) {
	g, k := math.Tan(math.Pi*cutHz/rateHz), 1/0.9
	a1 := 1 / (1 + g*(g+k))
	low, band, phase := o.low, o.band, o.phase
	turn, slope := freqHz/rateHz*waveLen, (target-level)/float64(to-from)
	for i := from; i < to; i++ {
		x := 0.0
		if o.wave == nil {
			x = 0.3 * o.r.NormFloat64()
		} else {
			at := int(phase)
			x = cubic(o.wave[(at+waveLen-1)&(waveLen-1)], o.wave[at], o.wave[at+1], o.wave[at+2], phase-float64(at))
			if phase += turn; phase >= waveLen {
				phase -= waveLen
			}
		}
		v1 := a1 * (band + g*(x-low))
		v2 := low + g*v1
		band, low = 2*v1-band, 2*v2-low
		level += slope
		dst[0][i] += o.ratio[0] * level * v2
		if len(dst) == 2 {
			dst[1][i] += o.ratio[1] * level * v2
		}
	}
	o.low, o.band, o.phase = low, band, phase
}

// cubic is the polynomial of third order through four values, x after b.
func cubic(a, b, c, d, x float64) float64 {
	return b + x*((c-a/3-b/2-d/6)+x*((a+c)/2-b+x*((d-a)/6+(b-c)/2)))
}
