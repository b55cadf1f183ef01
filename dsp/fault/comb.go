package fault

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

var (
	copyDelay    = dsp.Param{ID: "delayMS", Name: "delay", Unit: "ms", Min: 0, Max: 30, Neutral: 1}
	copyDistance = dsp.Param{ID: "distanceCM", Name: "distance", Unit: "cm", Min: 0, Max: 500, Neutral: 0}
	copyLevel    = dsp.Param{ID: "levelDB", Name: "level", Unit: "dB", Min: -60, Max: 0, Neutral: -60}
	copyTurned   = dsp.Param{ID: "inverted", Name: "polarity turned over", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
)

// soundMPS is the speed of sound in air of 20 °C, in metres a second.
const soundMPS = 343

// Comb adds what a second microphone hears of the same source, later, or a
// reflection from a desk: at some frequencies they add up, at others they
// cancel.
//
//	y(t) = x(t) ± ratio·x(t − delay)
//
//	delayMS     how much later                          0 to 30 ms
//	distanceCM  how much farther off, at 343 m/s        0 to 500 cm; adds to delayMS
//	levelDB     of the copy against the first           −60 to 0 dB; −60 is none at all
//	inverted    1 turns the polarity of the copy over   0 or 1
//
// The first microphone keeps its level. Notches lie at (2k+1)/(2·delay), or at
// k/delay where the copy is inverted. The copy comes as in fractional.go: it
// reaches to 0.42 of the rate. Latency: 24 frames.
// Source: common practice, no source; Laakso, Välimäki, Karjalainen & Laine,
// Splitting the unit delay, IEEE Signal Processing Magazine 13(1) (1996).
var Comb = dsp.Spec{
	ID:     "comb",
	Name:   "second microphone",
	Doc:    "Adds what a second microphone hears of the same source a little later: a comb filter.",
	Source: "Laakso, Välimäki, Karjalainen & Laine, Splitting the unit delay, IEEE SPM 13(1), 1996",
	Params: []dsp.Param{copyDelay, copyDistance, copyLevel, copyTurned},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		late := CombMS(s) * rateHz / 1000
		return &comb{table: sincTable(), late: late + leastDelay, ratio: copyRatio(s), reel: newReel(late + leastDelay)}, nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		whole, part := math.Modf(CombMS(s) * rateHz / 1000)
		h, w := complex(1, 0), 2*math.Pi*freqHz/rateHz
		for i, tap := range combTaps(part) {
			h += cmplx.Rect(copyRatio(s)*tap, -w*(whole+leastDelay-float64(i)))
		}
		return h
	},
}

// CombMS is how much later the copy of a setting of Comb comes.
func CombMS(s dsp.Setting) float64 {
	return s.Get(copyDelay) + s.Get(copyDistance)/100/soundMPS*1000
}

// copyRatio is what the copy is multiplied with.
func copyRatio(s dsp.Setting) float64 {
	switch {
	case s.Get(copyLevel) == copyLevel.Min:
		return 0
	case s.Get(copyTurned) == 1:
		return -dsp.FromDB(s.Get(copyLevel))
	}
	return dsp.FromDB(s.Get(copyLevel))
}

// combTaps are those that reel.read multiplies with, the oldest frame first.
func combTaps(part float64) (taps [sincTaps]float64) {
	place, rest := math.Modf(part * sincPlaces)
	row := &sincTable()[int(place)]
	for i := range taps {
		taps[i] = row.tap[i] + rest*row.step[i]
	}
	return taps
}

type comb struct {
	table       *[sincPlaces]sincRow
	late, ratio float64
	reel        reel
}

var (
	_ dsp.Processor = (*comb)(nil)
	_ dsp.Delayer   = (*comb)(nil)
	_ dsp.Settler   = (*comb)(nil)
)

// DelayFrames is half the length of the sinc.
func (c *comb) DelayFrames() int { return leastDelay }

// SettleFrames is the length of the reel.
func (c *comb) SettleFrames() int { return c.reel.size }

// Reset forgets what it heard.
func (c *comb) Reset() { c.reel.reset() }

// Process adds the copy to buf in place.
func (c *comb) Process(buf []dsp.Frame) {
	for i, x := range buf {
		c.reel.write(x)
		y := c.reel.whole(leastDelay)
		if c.ratio != 0 {
			z := c.reel.read(c.table, c.late+1)
			y[0] += c.ratio * z[0]
			y[1] += c.ratio * z[1]
		}
		buf[i] = y
	}
}
