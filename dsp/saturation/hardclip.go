package saturation

import (
	"math"

	"strop/dsp"
)

// HardClip cuts the waveform off at a level.
//
//	driveDB  how far a full-scale peak is above the level   −60 to 40 dB; −60 is off
//	mixPct   how much of the result is clipped              0 to 100 %
//
// What stays under the level passes unchanged, to the bit, and what is clipped
// keeps its place: no make-up gain, so the peak falls by driveDB. The curve
// between samples is what is clipped. The delay is that of Tanh.
//
// Source: Parker, Zavalishin & Le Bivic, DAFx-16 (2016), first order at four
// times the rate; the curve is common practice, no source. Differs from it in:
// the quotient of antiderivatives is written without its singularity.
var HardClip = dsp.Spec{
	ID:     "hardclip",
	Name:   "hard clip",
	Doc:    "Cuts the waveform off at a level: many odd harmonics, at once.",
	Source: "Parker, Zavalishin & Le Bivic, DAFx-16, 2016",
	Params: []dsp.Param{driveDB, mixPct},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newWaveshaper(rateHz, s, &hardClip{}), nil
	},
}

// hardClip is f(u) = u up to ±1, ±1 beyond. f(u) − u has the antiderivative
// −e²/2, e = max(|u| − 1, 0).
type hardClip struct{ u dsp.Frame }

func (c *hardClip) reset() { *c = hardClip{} }

func (c *hardClip) bend(buf []dsp.Frame) {
	left, right := c.u[0], c.u[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		buf[i] = dsp.Frame{hardStep(left, l), hardStep(right, r)}
		left, right = l, r
	}
	c.u = dsp.Frame{left, right}
}

// hardStep is the mean of f(u) − u from a to b.
//
// Where one end lies above the level and one below it, neither term cancels
// the other: the quotient is safe however near they are.
func hardStep(a, b float64) float64 {
	if math.Abs(a) <= 1 && math.Abs(b) <= 1 {
		return 0
	}
	if a >= 1 && b >= 1 {
		return 1 - (a+b)/2
	}
	if a <= -1 && b <= -1 {
		return -1 - (a+b)/2
	}
	over, under := max(math.Abs(b)-1, 0), max(math.Abs(a)-1, 0)
	return (under*under - over*over) / (2 * (b - a))
}
