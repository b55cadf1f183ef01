package saturation

import (
	"math"

	"strop/dsp"
)

// SoftClip rounds the waveform off by a cubic until it is flat.
//
//	driveDB  how far a full-scale peak is above the level where it is flat   −60 to 40 dB; −60 is off
//	mixPct   how much of the result is bent                                  0 to 100 %
//
// Third harmonic alone up to that level, all odd ones beyond. No make-up gain:
// what is quiet keeps its level. The delay is that of Tanh.
//
// Source: Parker, Zavalishin & Le Bivic, DAFx-16 (2016), first order at four
// times the rate; J. O. Smith, Physical Audio Signal Processing (2010), Soft
// clipping, for x − x³/3 (from memory). Differs from the former in: where both
// ends of a step lie within the cubic the quotient is divided out.
var SoftClip = dsp.Spec{
	ID:     "softclip",
	Name:   "cubic soft clip",
	Doc:    "Rounds the waveform off by a cubic: third harmonic first, then all odd ones.",
	Source: "Parker, Zavalishin & Le Bivic, DAFx-16, 2016; J. O. Smith, Physical Audio Signal Processing, 2010",
	Params: []dsp.Param{driveDB, mixPct},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newWaveshaper(rateHz, s, &softClip{}), nil
	},
}

// softClip is f(u) = u − u³/3 up to ±1, ±2/3 beyond.
type softClip struct{ u dsp.Frame }

func (c *softClip) reset() { *c = softClip{} }

func (c *softClip) bend(buf []dsp.Frame) {
	left, right := c.u[0], c.u[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		buf[i] = dsp.Frame{softStep(left, l), softStep(right, r)}
		left, right = l, r
	}
	c.u = dsp.Frame{left, right}
}

// softStep is the mean of f(u) − u from a to b.
func softStep(a, b float64) float64 {
	if math.Abs(a) <= 1 && math.Abs(b) <= 1 {
		return (a + b) * (a*a + b*b) / -12 // of −u⁴/12
	}
	return softStepBeyond(a, b)
}

func softStepBeyond(a, b float64) float64 {
	if math.Abs(b-a) < tooNear {
		return softValue((a + b) / 2)
	}
	return (softIntegral(b) - softIntegral(a)) / (b - a)
}

func softValue(u float64) float64 {
	if math.Abs(u) <= 1 {
		return u * u * u / -3
	}
	return math.Copysign(2.0/3, u) - u
}

// softIntegral is the antiderivative of softValue.
func softIntegral(u float64) float64 {
	if v := math.Abs(u); v > 1 {
		return v*(2.0/3-v/2) - 0.25
	}
	return u * u * u * u / -12
}
