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
// makes folds down. The places are runs of 3 samples and more of either
// channel at a rail, those of both that overlap or touch being one; their size
// is how far the highest sample had been beyond it, in dB. No latency.
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
	count       int // frames since Reset
	runs        [2]run
	placeLog
}

// run is the samples in a row of one channel that are at one rail.
type run struct {
	frames int
	sign   bool
	most   float64 // how high they had been
}

var (
	_ dsp.Processor = (*clipper)(nil)
	_ Reporter      = (*clipper)(nil)
)

// Reset forgets the places.
func (c *clipper) Reset() {
	c.count, c.runs = 0, [2]run{}
	c.clear()
}

// Process cuts buf in place.
func (c *clipper) Process(buf []dsp.Frame) {
	rail, ratio := c.rail, c.ratio
	for i := range buf {
		for side := range 2 {
			x := buf[i][side]
			switch {
			case x > rail:
				c.extend(&c.runs[side], c.count+i, x)
				x = rail
			case x < -rail:
				c.extend(&c.runs[side], c.count+i, x)
				x = -rail
			default:
				c.runs[side].frames = 0
			}
			buf[i][side] = ratio * x
		}
	}
	c.count += len(buf)
}

// extend makes a run one frame longer. Runs of both channels that meet are one
// place.
func (c *clipper) extend(r *run, frame int, x float64) {
	if sign := x < 0; r.frames == 0 || sign != r.sign {
		*r = run{sign: sign}
	}
	r.frames++
	r.most = max(r.most, math.Abs(x))
	if r.frames < shortestRun {
		return
	}
	start, sizeDB := frame+1-r.frames, dsp.ToDB(r.most/c.rail)
	if c.placeLog.count == 0 || c.last().Frame+c.last().Frames < start {
		c.add(Place{Frame: start, Frames: r.frames, SizeDB: sizeDB})
		return
	}
	last := c.last()
	first := min(last.Frame, start)
	*last = Place{Frame: first, Frames: frame + 1 - first, SizeDB: max(last.SizeDB, sizeDB)}
}
