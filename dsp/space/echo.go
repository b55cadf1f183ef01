package space

import (
	"fmt"
	"math"

	"strop/dsp"
)

var (
	echoTime     = dsp.Param{ID: "timeMS", Name: "time", Unit: "ms", Min: 0, Max: 2000, Neutral: 350}
	echoBeats    = dsp.Param{ID: "beats", Name: "beats", Min: 0, Max: 4, Neutral: 0}
	echoTempo    = dsp.Param{ID: "tempoBPM", Name: "tempo", Unit: "BPM", Min: 40, Max: 240, Neutral: 120}
	echoFeedback = dsp.Param{ID: "feedbackPct", Name: "feedback", Unit: "%", Min: 0, Max: 95, Neutral: 35}
	echoLow      = dsp.Param{ID: "lowcutHz", Name: "low cut", Unit: "Hz", Min: 10, Max: 2000, Neutral: 10, Scale: dsp.Log}
	echoHigh     = dsp.Param{ID: "highcutHz", Name: "high cut", Unit: "Hz", Min: 500, Max: 20000, Neutral: 20000, Scale: dsp.Log}
	echoPingPong = dsp.Param{ID: "pingpong", Name: "ping-pong", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
	echoLevel    = dsp.Param{ID: "echoDB", Name: "echo level", Unit: "dB", Min: -96, Max: 0, Neutral: -96}
)

// Echo repeats a sound, each time more softly.
//
//	timeMS       from one repeat to the next                    0 to 2000 ms
//	beats        the same in beats, added to timeMS             0 to 4
//	tempoBPM     how long a beat is                             40 to 240 BPM
//	feedbackPct  level of a repeat over the one before          0 to 95 %
//	lowcutHz     first-order cut that every repeat passes       10 to 2000 Hz; 10 is none
//	             once more
//	highcutHz    the same for the treble                        500 to 20000 Hz; 20000 is none
//	pingpong     1: both inputs go left, then right, then left  0 or 1
//	echoDB       the first repeat over the direct sound         −96 to 0 dB; −96 is none at
//	                                                            all: nothing is added
//
// The time is rounded to a whole frame, 10 µs at most. No latency.
// Source: common practice, no source; the cuts are first-order Butterworth by
// the bilinear transform.
var Echo = dsp.Spec{
	ID:     "echo",
	Name:   "echo",
	Doc:    "Repeats a sound, each time more softly.",
	Source: "common practice, no source",
	Params: []dsp.Param{echoTime, echoBeats, echoTempo, echoFeedback, echoLow, echoHigh, echoPingPong, echoLevel},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		ms := EchoMS(s)
		if ms < 1 {
			return nil, fmt.Errorf("an echo after %g ms is none; raise timeMS or beats to at least 1 ms together", ms)
		}
		e := &echo{
			line:     make([]dsp.Frame, int(math.Round(ms*rateHz/1000))),
			feedback: s.Get(echoFeedback) / 100,
			low:      firstOrder(rateHz, s.Get(echoLow), echoLow.Min),
			high:     firstOrder(rateHz, s.Get(echoHigh), echoHigh.Max),
			pingPong: s.Get(echoPingPong) == 1,
		}
		if s.Get(echoLevel) > echoLevel.Min {
			e.ratio = dsp.FromDB(s.Get(echoLevel))
		}
		return e, nil
	},
}

// EchoMS is the time from one repeat to the next that a setting of Echo asks for.
func EchoMS(s dsp.Setting) float64 {
	return s.Get(echoTime) + s.Get(echoBeats)*60000/s.Get(echoTempo)
}

// echo keeps the repeats in one ring, whose length is the time.
type echo struct {
	ratio, feedback float64
	low, high       onePole
	pingPong        bool
	line            []dsp.Frame
	at              int
}

var _ dsp.Processor = (*echo)(nil)

func (e *echo) Reset() {
	clear(e.line)
	e.at = 0
	e.low.state, e.high.state = dsp.Frame{}, dsp.Frame{}
}

func (e *echo) Process(buf []dsp.Frame) {
	line, at, low, high, ratio, feedback := e.line, e.at, e.low, e.high, e.ratio, e.feedback
	for i, x := range buf {
		y := line[at]
		if low.works {
			lp := low.pass(y)
			y[0] -= lp[0]
			y[1] -= lp[1]
		}
		if high.works {
			y = high.pass(y)
		}
		back := dsp.Frame{feedback * y[0], feedback * y[1]}
		if e.pingPong {
			line[at] = dsp.Frame{settled((x[0]+x[1])/2 + back[1]), settled(back[0])}
		} else {
			line[at] = dsp.Frame{settled(x[0] + back[0]), settled(x[1] + back[1])}
		}
		buf[i] = dsp.Frame{x[0] + ratio*y[0], x[1] + ratio*y[1]}
		if at++; at == len(line) {
			at = 0
		}
	}
	e.at, e.low, e.high = at, low, high
}

// settled drops what has decayed below −2000 dB.
func settled(x float64) float64 {
	if math.Abs(x) < 1e-100 {
		return 0
	}
	return x
}

// onePole is a first-order low-pass, bilinear:
//
//	y[n] = b·(x[n] + x[n−1]) + a·y[n−1],  in transposed form
type onePole struct {
	works bool
	b, a  float64
	state dsp.Frame
}

// firstOrder is a low-pass at freqHz that does nothing at the value none.
func firstOrder(rateHz, freqHz, none float64) onePole {
	w := math.Tan(math.Pi * min(freqHz/rateHz, 0.49))
	return onePole{works: freqHz != none, b: w / (1 + w), a: (1 - w) / (1 + w)}
}

func (f *onePole) pass(x dsp.Frame) (y dsp.Frame) {
	for side := range y {
		y[side] = f.b*x[side] + f.state[side]
		f.state[side] = settled(f.b*x[side] + f.a*y[side])
	}
	return y
}
