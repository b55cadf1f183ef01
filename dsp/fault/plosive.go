package fault

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

var (
	plosiveLevel = dsp.Param{ID: "levelDB", Name: "level", Unit: "dB", Min: -30, Max: 15, Neutral: -30}
	plosiveShare = dsp.Param{ID: "sharePct", Name: "onsets that pop", Unit: "%", Min: 10, Max: 100, Neutral: 100}
)

const (
	plosiveAhead   = 24 // hops that are known from an onset on: 120 ms
	plosiveEarly   = 1  // hop by which the burst comes before the onset
	plosiveBursts  = 8  // different ones
	plosiveLoHz    = 30
	plosiveHiHz    = 80
	plosiveLeastS  = 0.04
	plosiveMostS   = 0.1
	plosiveDecay   = 4.0 // times a burst falls to 1/e in its length
	plosiveNoise   = 0.25
	plosiveNoiseHz = 100
)

// Plosive lets a voice pop the microphone: where it begins, as on a p, b or t, a
// burst of breath meets the membrane.
//
//	levelDB   peak of the burst against that of the voice in    −30 to 15 dB; −30 is none at all
//	          the 120 ms from there on, above 120 Hz
//	sharePct  how many of the onsets pop, drawn at random        10 to 100 %
//	seed      draws that, and the bursts                         0 to 1048576
//
// A burst is a damped oscillation of 30 to 80 Hz whose first half wave is the
// highest, 3 to 8 ms after its beginning, with low-passed noise in it; it lasts
// 40 to 100 ms. An onset is where the power of 20 ms is 10 dB over that of the
// 40 ms before and no more than 20 dB under the loudest of late, 200 ms after
// the last at least. Size of a place: levelDB. Latency: 130 ms.
// Source: common practice, no source.
var Plosive = dsp.Spec{
	ID:     "plosive",
	Name:   "plosives",
	Doc:    "Lets a voice pop the microphone: a burst of breath where it begins.",
	Source: "common practice, no source",
	Params: []dsp.Param{plosiveLevel, plosiveShare, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		p := &plosive{
			listener: newListener(rateHz), share: s.Get(plosiveShare) / 100, levelDB: s.Get(plosiveLevel),
			seed: seedOf(s), source: new(rand.PCG), placeLog: newPlaceLog(),
		}
		p.random = rand.New(p.source)
		p.line = newDelayLine((plosiveAhead + 1 + plosiveEarly) * p.hop)
		if p.levelDB > plosiveLevel.Min {
			p.ratio = dsp.FromDB(p.levelDB)
		}
		for i := range p.bursts {
			p.bursts[i] = puff(rateHz, rand.New(rand.NewPCG(p.seed, 0x900+uint64(i))))
		}
		p.Reset()
		return p, nil
	},
}

// puff is one burst, of peak 1.
func puff(rateHz float64, r *rand.Rand) []float64 {
	freqHz := plosiveLoHz * math.Pow(plosiveHiHz/plosiveLoHz, r.Float64())
	lengthS := plosiveLeastS + (plosiveMostS-plosiveLeastS)*r.Float64()
	noise := make([]dsp.Frame, int(lengthS*rateHz))
	for i := range noise {
		noise[i][0] = r.NormFloat64() * math.Sqrt(rateHz/(2*plosiveNoiseHz))
	}
	for _, q := range steepQ {
		f := lowPass(rateHz, plosiveNoiseHz, q)
		f.process(noise)
	}
	x, peak := make([]float64, len(noise)), 0.0
	for i := range x {
		part := float64(i) / float64(len(x))
		wave := math.Sin(2*math.Pi*freqHz*float64(i)/rateHz) + plosiveNoise*noise[i][0]*min(1, 10*part)
		x[i] = wave * math.Exp(-plosiveDecay*part) * raisedCosine(min(1, 5*(1-part)))
		peak = max(peak, math.Abs(x[i]))
	}
	if r.Float64() < 0.2 { // most push the membrane in
		peak = -peak
	}
	for i := range x {
		x[i] /= peak
	}
	return x
}

// raisedCosine rises from 0 to 1 as x does.
func raisedCosine(x float64) float64 { return 0.5 - 0.5*math.Cos(math.Pi*x) }

type plosive struct {
	listener
	placeLog
	line           delayLine
	ratio, levelDB float64
	share          float64
	seed           uint64
	source         *rand.PCG
	random         *rand.Rand
	bursts         [plosiveBursts][]float64
	burst          []float64 // what is left of the one that sounds
	size           float64   // ratio of it
	frames         int       // since Reset
}

var (
	_ dsp.Processor = (*plosive)(nil)
	_ dsp.Delayer   = (*plosive)(nil)
	_ Reporter      = (*plosive)(nil)
)

// DelayFrames is 130 ms.
func (p *plosive) DelayFrames() int { return p.line.frames() }

// Reset begins anew.
func (p *plosive) Reset() {
	p.listener.reset()
	p.clear()
	p.line.reset()
	p.source.Seed(p.seed, 0x908)
	p.burst, p.frames = nil, 0
}

// Process adds bursts to buf in place.
func (p *plosive) Process(buf []dsp.Frame) {
	if p.ratio == 0 {
		p.line.process(buf)
		return
	}
	for len(buf) > 0 {
		n := min(len(buf), p.room())
		complete := p.hear(buf[:n])
		p.line.process(buf[:n])
		p.sound(buf[:n])
		p.frames += n
		if complete && p.onset(plosiveAhead) {
			p.pop()
		}
		buf = buf[n:]
	}
}

// pop begins a burst with the next frame that comes out.
func (p *plosive) pop() {
	drawn, which := p.random.Float64(), p.random.IntN(plosiveBursts)
	if drawn >= p.share {
		return
	}
	peak := 0.0
	for n := range plosiveAhead + 1 {
		peak = max(peak, p.back(n).peak)
	}
	p.burst, p.size = p.bursts[which], p.ratio*peak
	p.add(Place{Frame: p.frames, Frames: len(p.burst), SizeDB: p.levelDB})
}

func (p *plosive) sound(buf []dsp.Frame) {
	n := min(len(buf), len(p.burst))
	for i, v := range p.burst[:n] {
		buf[i][0] += p.size * v
		buf[i][1] += p.size * v
	}
	p.burst = p.burst[n:]
}

// delayLine delays by whole frames.
type delayLine struct {
	ring []dsp.Frame
	at   int
}

func newDelayLine(frames int) delayLine { return delayLine{ring: make([]dsp.Frame, frames)} }

func (d *delayLine) frames() int { return len(d.ring) }

func (d *delayLine) reset() {
	clear(d.ring)
	d.at = 0
}

func (d *delayLine) process(buf []dsp.Frame) {
	ring, at := d.ring, d.at
	for i := range buf {
		buf[i], ring[at] = ring[at], buf[i]
		if at++; at == len(ring) {
			at = 0
		}
	}
	d.at = at
}
