package fault

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

var (
	popsPerS  = dsp.Param{ID: "perS", Name: "pops a second", Min: 0, Max: 50, Neutral: 0}
	popLevel  = dsp.Param{ID: "levelDBFS", Name: "median peak level", Unit: "dBFS", Min: -60, Max: -6, Neutral: -24}
	popSpread = dsp.Param{ID: "spreadDB", Name: "spread of the levels", Unit: "dB", Min: 0, Max: 12, Neutral: 4}
)

const (
	popRestS               = 0.004 // from one pop to the next, at least
	popMinS, popMaxS       = 0.0003, 0.002
	popMinHz, popMaxHz     = 1000, 5000
	popDecayDB             = 60 // over its length
	popMost                = 2  // standard deviations from the median, at most
	popLoudestDBFS         = 0
	popChannelMin, popLean = 0.5, 0.5
)

// Crackle adds the pops of a worn or dusty record.
//
//	perS       pops a second in the mean, at random moments  0 to 50; 0 is none
//	levelDBFS  median of their peaks                         −60 to −6 dBFS
//	spreadDB   standard deviation of their peaks             0 to 12 dB
//	seed       draws all of it                               0 to 1048576
//
// A pop is an oscillation of 1 to 5 kHz that begins at its peak and is 60 dB
// lower after its length of 0.3 to 2 ms. Peaks are log-normal, cut off at two
// deviations and at 0 dBFS. Each leans to one channel: the other has it up to
// 6 dB lower. Two are 4 ms apart at least. Their size is the peak in the
// louder channel, in dBFS. No latency.
// Source: the model of a click as an excited resonance, in S. J. Godsill,
// P. J. W. Rayner, Digital Audio Restoration (1998) (from memory); the figures:
// common practice, no source.
var Crackle = dsp.Spec{
	ID:     "crackle",
	Name:   "crackle",
	Doc:    "Adds the pops of a worn or dusty record.",
	Source: "Godsill & Rayner, Digital Audio Restoration, 1998",
	Params: []dsp.Param{popsPerS, popLevel, popSpread, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return &crackler{
			rateHz: rateHz, medianDB: s.Get(popLevel), spreadDB: s.Get(popSpread),
			occasions: newOccasions(rateHz, s.Get(popsPerS), popRestS*rateHz, s, 6),
			placeLog:  newPlaceLog(),
		}, nil
	},
}

type crackler struct {
	rateHz, medianDB, spreadDB float64
	occasions
	placeLog
	count     int        // frames since Reset
	rest      int        // frames left of a pop
	now, turn complex128 // the oscillation, its real part, and what turns and damps it
	gains     dsp.Frame
}

var (
	_ dsp.Processor = (*crackler)(nil)
	_ Reporter      = (*crackler)(nil)
)

// Reset begins the moments anew.
func (c *crackler) Reset() {
	c.reset()
	c.clear()
	c.count, c.rest = 0, 0
}

// Process adds to buf in place.
func (c *crackler) Process(buf []dsp.Frame) {
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
			buf[i][0] += c.gains[0] * real(c.now)
			buf[i][1] += c.gains[1] * real(c.now)
			c.now *= c.turn
		}
	}
	c.count += len(buf)
}

// begin draws a pop.
func (c *crackler) begin(frame int) {
	r := c.random
	deviation := min(max(r.NormFloat64(), -popMost), popMost)
	sizeDB := min(c.medianDB+c.spreadDB*deviation, popLoudestDBFS)
	frames := (popMinS + (popMaxS-popMinS)*r.Float64()) * c.rateHz
	freqHz := popMinHz * math.Pow(popMaxHz/popMinHz, r.Float64())
	c.now = complex(dsp.FromDB(sizeDB), 0)
	c.turn = cmplx.Rect(dsp.FromDB(-popDecayDB/frames), 2*math.Pi*freqHz/c.rateHz)
	c.rest = max(1, int(math.Round(frames)))
	c.gains = dsp.Frame{1, popChannelMin + popLean*r.Float64()}
	if word := r.Uint64(); word&1 == 1 {
		c.gains[0], c.gains[1] = c.gains[1], c.gains[0]
	} else if word&2 == 2 {
		c.now = -c.now
	}
	c.add(Place{Frame: frame, Frames: c.rest, SizeDB: sizeDB})
}
