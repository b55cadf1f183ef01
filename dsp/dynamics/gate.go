package dynamics

import (
	"math"

	"strop/dsp"
)

// Gate lowers what stays under a threshold by a fixed amount.
//
//	thresholdDB   peak at which it opens                          −80 to 0 dB
//	hysteresisDB  how far below that it closes                    0 to 20 dB
//	rangeDB       reduction while it is closed                    0 to 80 dB; 0 does nothing, to the bit
//	attackMS      time for 63 % of the way open, in dB            0.02 to 50 ms, not above the release
//	holdMS        time for which it stays open after the last
//	              peak above the closing level                    1 to 1000 ms
//	releaseMS     time for 63 % of the way shut, in dB            5 to 2000 ms
//	lookaheadMS   time by which the gain leads the sound          0 to 10 ms
//
// It starts closed. A hold shorter than half a cycle of the sound lets it
// chatter. Linked channels. Latency: the look-ahead.
//
// Source: common practice, no source.
var Gate = dsp.Spec{
	ID:     "gate",
	Name:   "gate",
	Doc:    "Lowers what stays under a threshold by a fixed amount.",
	Source: "common practice, no source",
	Params: []dsp.Param{gateThreshold, gateHysteresis, gateRange, gateAttack, gateHold, gateRelease, lookahead},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if s.Get(gateAttack) > s.Get(gateRelease) {
			return nil, notFaster(s.Get(gateAttack), s.Get(gateRelease))
		}
		g := &gate{
			delay:   newDelay(s.Get(lookahead), rateHz),
			falling: newFalling(rateHz, s.Get(gateAttack), s.Get(gateRelease)),
			opens:   dsp.FromDB(s.Get(gateThreshold)),
			closes:  dsp.FromDB(s.Get(gateThreshold) - s.Get(gateHysteresis)),
			shut:    s.Get(gateRange) / doublingDB,
			holds:   int(math.Round(s.Get(gateHold) * rateHz / 1000)),
		}
		g.Reset()
		return g, nil
	},
}

var (
	gateThreshold  = dsp.Param{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -80, Max: 0, Neutral: -40}
	gateHysteresis = dsp.Param{ID: "hysteresisDB", Name: "hysteresis", Unit: "dB", Min: 0, Max: 20, Neutral: 4}
	gateRange      = dsp.Param{ID: "rangeDB", Name: "range", Unit: "dB", Min: 0, Max: 80}
	gateAttack     = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.02, Max: 50, Neutral: 0.5, Scale: dsp.Log}
	gateHold       = dsp.Param{ID: "holdMS", Name: "hold", Unit: "ms", Min: 1, Max: 1000, Neutral: 30, Scale: dsp.Log}
	gateRelease    = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 5, Max: 2000, Neutral: 100, Scale: dsp.Log}
)

type gate struct {
	meter
	delay
	falling
	opens, closes float64 // peaks
	shut          float64
	holds         int
	open          int // frames for which it still stays open
	x             [block]float64
}

var (
	_ dsp.Processor = (*gate)(nil)
	_ dsp.Delayer   = (*gate)(nil)
	_ Reducer       = (*gate)(nil)
)

// Reset closes the gate.
func (g *gate) Reset() {
	g.meter.reset()
	g.delay.reset()
	g.falling.y = g.shut
	g.open = 0
}

// Process gates buf in place.
func (g *gate) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		x := g.x[:n]
		g.decide(x, buf[:n])
		g.smooth(x)
		g.read(x)
		gains(x, 0, 1)
		g.delay.process(buf[:n])
		both(buf[:n], x)
		buf = buf[n:]
	}
}

// decide gives the reduction that each frame asks for.
func (g *gate) decide(x []float64, buf []dsp.Frame) {
	open := g.open
	for i := range buf {
		peak := size(buf[i][0], buf[i][1])
		switch {
		case peak >= g.opens, open > 0 && peak >= g.closes:
			open = g.holds
		case open > 0:
			open--
		}
		x[i] = 0
		if open == 0 {
			x[i] = g.shut
		}
	}
	g.open = open
}
