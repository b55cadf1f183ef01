package fault

import (
	"math"

	"strop/dsp"
)

var (
	sibilanceGain = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: 0, Max: 18, Neutral: 0}
	sibilanceFreq = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 2000, Max: 8000, Neutral: 2800, Scale: dsp.Log}
)

const (
	sibilanceDelay = 3 // hops
	sibilanceHold  = 4 // the gain is up if one of so many hops is a sibilant
)

// Sibilance makes the s and sh of a voice too loud, as a bright microphone too
// near does, and leaves all else alone.
//
//	gainDB  of a high shelf, while there is a sibilant    0 to 18 dB; 0 does nothing, to the bit
//	freqHz  middle of the shelf, half of gainDB in dB     2000 to 8000 Hz, below 0.45 of the rate
//
// A sibilant is where the power above 5 kHz is more than half of that from 0.2
// to 2 kHz, and no more than 40 dB under the loudest of late. The shelf is of
// second order and comes and goes in 5 ms, before the sibilant and after it.
// Size of a place: gainDB; it is complete when the sibilant is over. Latency: 15 ms.
// Source: A. Simper, Linear Trapezoidal Integrated State Variable Filter With
// Low Noise Optimisation (2013), for the shelf; the detector: common practice,
// no source.
var Sibilance = dsp.Spec{
	ID:     "sibilance",
	Name:   "sibilance",
	Doc:    "Makes the s and sh of a voice too loud, and leaves all else alone.",
	Source: "A. Simper, Linear Trapezoidal Integrated State Variable Filter, 2013; detector: common practice, no source",
	Params: []dsp.Param{sibilanceGain, sibilanceFreq},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		root := dsp.FromDB(s.Get(sibilanceGain) / 2)
		p := &sibilance{
			listener: newListener(rateHz), placeLog: newPlaceLog(), most: root, gainDB: s.Get(sibilanceGain),
			// The poles of the shelf lie at the frequency of the split, its zeros 1/√g
			// above; its middle is half way.
			split: newSplit(rateHz, min(s.Get(sibilanceFreq), 0.45*rateHz)*math.Sqrt(root)),
		}
		p.line = newDelayLine(sibilanceDelay * p.hop)
		p.step = (root - 1) / float64(p.hop)
		p.Reset()
		return p, nil
	},
}

type sibilance struct {
	listener
	placeLog
	line         delayLine
	split        split
	gainDB       float64
	most, step   float64 // greatest root of the gain, and its change a frame
	root, target float64
	frames       int // since Reset
}

var (
	_ dsp.Processor = (*sibilance)(nil)
	_ dsp.Delayer   = (*sibilance)(nil)
	_ Reporter      = (*sibilance)(nil)
)

// DelayFrames is 15 ms.
func (p *sibilance) DelayFrames() int { return p.line.frames() }

// Reset begins anew.
func (p *sibilance) Reset() {
	p.listener.reset()
	p.clear()
	p.line.reset()
	p.split.reset()
	p.root, p.target, p.frames = 1, 1, 0
}

// Process raises sibilants in buf in place.
func (p *sibilance) Process(buf []dsp.Frame) {
	if p.most == 1 {
		p.line.process(buf)
		return
	}
	for len(buf) > 0 {
		n := min(len(buf), p.room())
		complete := p.hear(buf[:n])
		p.line.process(buf[:n])
		p.raise(buf[:n])
		p.frames += n
		if complete {
			p.judge()
		}
		buf = buf[n:]
	}
}

// judge sets the gain of the hop that comes out next.
func (p *sibilance) judge() {
	up := false
	for n := range sibilanceHold {
		up = up || p.sibilant(n)
	}
	switch {
	case up && p.target == 1:
		p.target = p.most
		p.add(Place{Frame: p.frames, Frames: p.hop, SizeDB: p.gainDB})
	case up:
		p.last().Frames += p.hop
	default:
		p.target = 1
	}
}

func (p *sibilance) raise(buf []dsp.Frame) {
	root, target, step := p.root, p.target, p.step
	for i, x := range buf {
		switch {
		case root < target:
			root = min(root+step, target)
		case root > target:
			root = max(root-step, target)
		}
		low, middle, high := p.split.parts(x)
		if root == 1 {
			continue
		}
		for side := range x {
			buf[i][side] = low[side] + root*middle[side] + root*root*high[side]
		}
	}
	p.root = root
}
