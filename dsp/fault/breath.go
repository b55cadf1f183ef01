package fault

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

var breathLevel = dsp.Param{ID: "levelDB", Name: "level", Unit: "dB", Min: -60, Max: 0, Neutral: -60}

const (
	breathKnown   = 16 // hops of a phrase that are known when its onset is
	breathMostS   = 0.5
	breathLeastS  = 0.15
	breathBeforeS = 0.06 // from a breath to the phrase
	breathAfterS  = 0.1  // from the phrase before to a breath
	breathRise    = 0.3  // share of a breath in which it rises
	breathFall    = 0.2  // and falls
	breathTakes   = 2    // different ones
	voiceMeanS    = 3.0  // of sound over which the level of a voice is taken
)

// Peaks of the spectrum of a breath, which falls by 6 dB per octave from 2 kHz:
// resonances of a throat that forms no vowel.
var breathPeaks = [...]struct{ freqHz, q float64 }{{600, 2}, {1500, 2.5}, {2500, 2.5}}

// Breath adds a breath in the pause before each phrase.
//
//	levelDB  rms of its loudest half against that of the    −60 to 0 dB; −60 is none at all
//	         voice from 0.2 to 2 kHz
//	seed     draws the noise                                0 to 1048576
//
// A phrase is an onset, as Plosive has it, after a pause of 0.31 s or more in
// which the voice lies 25 dB under the loudest of late. The breath is as long
// as the pause leaves room for, 150 to 500 ms, and ends 60 ms before the
// phrase. The level of the voice is the mean of the last 3 s in which it
// sounded. Both channels get the same. Size of a place: levelDB. Latency: 645 ms.
// Source: R. Werner and others, Acoustics of breath noises in human speech, J.
// Speech, Language, and Hearing Research (2023), abstract: a falling slope with
// weak peaks below 3 kHz. Which peaks, and the times: common practice, no
// source.
var Breath = dsp.Spec{
	ID:     "breath",
	Name:   "breath",
	Doc:    "Adds a breath in the pause before each phrase of a voice.",
	Source: "Werner and others, Acoustics of breath noises in human speech, JSLHR, 2023, abstract",
	Params: []dsp.Param{breathLevel, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		b := &breath{
			listener: newListener(rateHz), placeLog: newPlaceLog(), levelDB: s.Get(breathLevel),
			most: int(breathMostS * rateHz), least: int(breathLeastS * rateHz), room: int((breathBeforeS + breathAfterS) * rateHz),
			keep: math.Exp(-hopS / voiceMeanS),
		}
		b.line = newDelayLine(b.most + int(breathBeforeS*rateHz) + (breathKnown+1)*b.hop)
		if b.levelDB > breathLevel.Min {
			b.ratio = dsp.FromDB(b.levelDB)
		}
		for i := range b.takes {
			b.takes[i] = breathNoise(rateHz, b.most, rand.New(rand.NewPCG(seedOf(s), 0xb00+uint64(i))))
		}
		b.Reset()
		return b, nil
	},
}

// breathNoise is noise with the spectrum of a breath, of rms 1.
func breathNoise(rateHz float64, n int, r *rand.Rand) []float64 {
	flat, colour := make([]dsp.Frame, n+int(0.05*rateHz)), make([]dsp.Frame, n)
	for i := range flat {
		flat[i][0] = r.NormFloat64()
	}
	for _, f := range []section{highPass(rateHz, 250, butterworthQ), poleZero(rateHz, min(2000, rateHz/5), min(12000, 0.45*rateHz))} {
		f.process(flat)
	}
	flat = flat[len(flat)-n:]
	copy(colour, flat)
	for _, p := range breathPeaks {
		f := resonance(rateHz, p.freqHz, p.q)
		work := append([]dsp.Frame(nil), flat...)
		f.process(work)
		for i := range colour {
			colour[i][0] += work[i][0]
		}
	}
	x, sum := make([]float64, n), 0.0
	for i, f := range colour {
		x[i] = f[0]
		sum += f[0] * f[0] / float64(n)
	}
	for i := range x {
		x[i] /= math.Sqrt(sum)
	}
	return x
}

// resonance is a band-pass of second order whose peak has a gain of 1.
// Source: R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note (2021).
func resonance(rateHz, freqHz, q float64) section {
	sin, cos := math.Sincos(2 * math.Pi * min(freqHz/rateHz, 0.49))
	alpha := sin / (2 * q)
	return section{b0: alpha / (1 + alpha), b2: -alpha / (1 + alpha), a1: -2 * cos / (1 + alpha), a2: (1 - alpha) / (1 + alpha)}
}

type breath struct {
	listener
	placeLog
	line              delayLine
	ratio, levelDB    float64
	most, least, room int // frames
	keep              float64
	takes             [breathTakes][]float64
	voice, weight     float64 // sum of the powers of a voice, fading, and of their weights
	wait, length      int     // frames until the next breath, and of it; length 0: there is none
	at, sounds        int     // frames into the breath that sounds, and of it
	size              float64
	taken             int // breaths since Reset
	frames            int
}

var (
	_ dsp.Processor = (*breath)(nil)
	_ dsp.Delayer   = (*breath)(nil)
	_ Reporter      = (*breath)(nil)
)

// DelayFrames is 645 ms.
func (b *breath) DelayFrames() int { return b.line.frames() }

// Reset begins anew.
func (b *breath) Reset() {
	b.listener.reset()
	b.clear()
	b.line.reset()
	b.voice, b.weight, b.length, b.at, b.sounds, b.taken, b.frames = 0, 0, 0, 0, 0, 0, 0
}

// Process adds breaths to buf in place.
func (b *breath) Process(buf []dsp.Frame) {
	if b.ratio == 0 {
		b.line.process(buf)
		return
	}
	for len(buf) > 0 {
		n := min(len(buf), b.listener.room())
		complete := b.hear(buf[:n])
		b.line.process(buf[:n])
		b.sound(buf[:n])
		if complete {
			b.judge()
		}
		buf = buf[n:]
	}
}

// judge takes the level of the voice, and plans a breath before a phrase.
func (b *breath) judge() {
	if h := b.back(0); h.power > b.loud*voiceRange {
		b.voice, b.weight = b.voice*b.keep+h.mid, b.weight*b.keep+1
	}
	if !b.onset(breathKnown) {
		return
	}
	length := min(b.pauses(breathKnown+1)*b.hop-b.room, b.most)
	if length >= b.least && b.length == 0 {
		b.wait, b.length = b.most-length, length
	}
}

func (b *breath) sound(buf []dsp.Frame) {
	for i := range buf {
		if b.length > 0 {
			if b.wait == 0 {
				b.begin(b.frames + i)
			}
			b.wait--
		}
		if b.at < b.sounds {
			v := b.size * b.shape() * b.takes[b.taken%breathTakes][b.at]
			buf[i][0] += v
			buf[i][1] += v
			b.at++
		}
	}
	b.frames += len(buf)
}

// begin lets the breath that was planned sound.
func (b *breath) begin(frame int) {
	b.taken++
	b.at, b.sounds, b.length = 0, b.length, 0
	b.size = b.ratio * math.Sqrt(b.voice/max(b.weight, 1))
	b.add(Place{Frame: frame, Frames: b.sounds, SizeDB: b.levelDB})
}

// shape is the gain within a breath.
func (b *breath) shape() float64 {
	part := (float64(b.at) + 0.5) / float64(b.sounds)
	return raisedCosine(min(1, part/breathRise)) * raisedCosine(min(1, (1-part)/breathFall))
}
