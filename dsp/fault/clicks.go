package fault

import (
	"math"

	"strop/dsp"
)

var (
	clicksPerS = dsp.Param{ID: "perS", Name: "clicks a second", Min: 0, Max: 20, Neutral: 0}
	clickLevel = dsp.Param{ID: "levelDBFS", Name: "peak level", Unit: "dBFS", Min: -60, Max: 0, Neutral: -20}
)

const (
	clickFrames = 5     // the longest
	clickRestS  = 0.010 // between two clicks, at least, were both steps
	stepS       = 0.002 // in which a step falls to 37 %
	stepOver    = 7     // after so many of these, at −61 dB, it is over
)

// Clicks adds the clicks of a bad clock, a lost packet or an edit.
//
//	perS       clicks a second in the mean, at random moments  0 to 20; 0 is none
//	levelDBFS  peak of each                                    −60 to 0 dBFS
//	seed       draws moments and shapes                        0 to 1048576
//
// Three in four are 1 to 5 samples long and flat, one in four is a step that
// dies away within 14 ms; the sign is either, the same in both channels. Two
// are 24 ms apart at least. Their size is their peak in dBFS. No latency.
// Source: common practice, no source.
var Clicks = dsp.Spec{
	ID:     "clicks",
	Name:   "digital clicks",
	Doc:    "Adds clicks of a few samples, as of a bad clock, a lost packet or an edit.",
	Source: "common practice, no source",
	Params: []dsp.Param{clicksPerS, clickLevel, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		stepFrames := math.Round(stepOver * stepS * rateHz)
		return &clicker{
			peak:       dsp.FromDB(s.Get(clickLevel)),
			peakDB:     s.Get(clickLevel),
			decay:      math.Exp(-1 / (stepS * rateHz)),
			stepFrames: int(stepFrames),
			occasions:  newOccasions(rateHz, s.Get(clicksPerS), clickRestS*rateHz+stepFrames, s, 5),
			placeLog:   newPlaceLog(),
		}, nil
	},
}

type clicker struct {
	peak, peakDB, decay float64
	stepFrames          int
	occasions
	placeLog
	count      int     // frames since Reset
	rest       int     // frames left of a click
	now, ratio float64 // what is added next, and its ratio to what is added then
}

var (
	_ dsp.Processor = (*clicker)(nil)
	_ Reporter      = (*clicker)(nil)
)

// Reset begins the moments anew.
func (c *clicker) Reset() {
	c.reset()
	c.clear()
	c.count, c.rest = 0, 0
}

// Process adds to buf in place.
func (c *clicker) Process(buf []dsp.Frame) {
	if c.never {
		return
	}
	for i := range buf {
		if c.left == 0 {
			c.begin(c.count + i)
			c.draw()
		}
		c.left--
		if c.rest > 0 {
			c.rest--
			buf[i][0] += c.now
			buf[i][1] += c.now
			c.now *= c.ratio
		}
	}
	c.count += len(buf)
}

// begin draws a click.
func (c *clicker) begin(frame int) {
	word := c.random.Uint64()
	c.now, c.ratio, c.rest = c.peak, 1, 1+int(word>>8%clickFrames)
	if word&1 == 1 {
		c.now = -c.peak
	}
	if word&6 == 0 {
		c.ratio, c.rest = c.decay, c.stepFrames
	}
	c.add(Place{Frame: frame, Frames: c.rest, SizeDB: c.peakDB})
}
