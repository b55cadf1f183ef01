package fault

import (
	"math"

	"strop/dsp"
)

var (
	clipThreshold = dsp.Param{ID: "thresholdDBFS", Name: "threshold", Unit: "dBFS", Min: -40, Max: 12, Neutral: 12}
	clipTrim      = dsp.Param{ID: "trimDB", Name: "trim after it", Unit: "dB", Min: -24, Max: 0, Neutral: 0}
)

// shortestRun is the fewest samples in a row at the rail that count as one
// overload: the top of a wave that is not clipped can have two alike.
const shortestRun = 3

// Clipping cuts samples off at a rail, as a converter does that was driven too
// hard, and may then turn them down, so that no peak meter shows it.
//
//	thresholdDBFS  where samples are cut off          −40 to 12 dBFS; 12 is none at all
//	trimDB         gain afterwards                    −24 to 0 dB
//
// The rail lies at thresholdDBFS + trimDB: every sample beyond becomes exactly
// that. Samples are cut, not the curve between them, so that much of what it
// makes folds down. The places are runs of 3 frames and more in which either
// channel is at the rail; their size is how far the highest sample had been
// beyond it, in dB. No latency.
// Source: common practice, no source.
var Clipping = dsp.Spec{
	ID:     "clipping",
	Name:   "clipping",
	Doc:    "Cuts samples off at a rail, as a converter does that was driven too hard.",
	Source: "common practice, no source",
	Params: []dsp.Param{clipThreshold, clipTrim},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		c := &clipper{rail: math.Inf(1), ratio: dsp.FromDB(s.Get(clipTrim)), placeLog: newPlaceLog()}
		if s.Get(clipThreshold) < clipThreshold.Max {
			c.rail = dsp.FromDB(s.Get(clipThreshold))
		}
		return c, nil
	},
}

type clipper struct {
	rail, ratio float64
	count       int     // frames since Reset
	run         int     // frames in a row at the rail
	most        float64 // highest sample of the run
	placeLog
}

var (
	_ dsp.Processor = (*clipper)(nil)
	_ Reporter      = (*clipper)(nil)
)

// Reset forgets the places.
func (c *clipper) Reset() {
	c.count, c.run, c.most = 0, 0, 0
	c.clear()
}

// Process cuts buf in place.
func (c *clipper) Process(buf []dsp.Frame) {
	rail, ratio := c.rail, c.ratio
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		if most := max(math.Abs(l), math.Abs(r)); most > rail {
			c.extend(c.count+i, most)
		} else {
			c.run, c.most = 0, 0
		}
		buf[i] = dsp.Frame{ratio * cut(l, rail), ratio * cut(r, rail)}
	}
	c.count += len(buf)
}

// cut is x, at most rail to either side; NaN stays NaN.
func cut(x, rail float64) float64 {
	if x > rail {
		return rail
	}
	if x < -rail {
		return -rail
	}
	return x
}

// extend makes the run one frame longer.
func (c *clipper) extend(frame int, most float64) {
	c.run++
	c.most = max(c.most, most)
	place := Place{Frame: frame - c.run + 1, Frames: c.run, SizeDB: dsp.ToDB(c.most / c.rail)}
	switch {
	case c.run == shortestRun:
		c.add(place)
	case c.run > shortestRun:
		*c.last() = place
	}
}
