package saturation

import (
	"math"

	"strop/dsp"
)

// Tanh bends the waveform towards a level that it never reaches.
//
//	driveDB  how far a full-scale peak is above that level   −60 to 40 dB; −60 is off
//	mixPct   how much of the result is bent                  0 to 100 %
//
// Odd harmonics that grow with the level: a sine whose peak is at the level
// has 6.7 % of them. No make-up gain: what is quiet keeps its level. The delay
// is 69 frames at 44.1 kHz, 41 at 48 kHz, 16 at 96 kHz.
//
// Source: Parker, Zavalishin & Le Bivic, DAFx-16 (2016), first order at four
// times the rate; the curve is common practice, no source.
var Tanh = dsp.Spec{
	ID:     "tanh",
	Name:   "tanh saturation",
	Doc:    "Bends the waveform towards a level: odd harmonics that grow with it.",
	Source: "Parker, Zavalishin & Le Bivic, DAFx-16, 2016",
	Params: []dsp.Param{driveDB, mixPct},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newWaveshaper(rateHz, s, newTanhCurve(0)), nil
	},
}

// tooNear is the step below which the quotient of antiderivatives loses more
// than the value at the middle of the step does (Parker, Zavalishin & Le
// Bivic).
const tooNear = 1e-5

// tanhCurve is tanh about a resting point:
//
//	f(u) = (tanh(u + bias) − rest)/(1 − rest²),  rest = tanh bias
type tanhCurve struct {
	bias, rest, scale float64
	table             *logCosh
	v, integral       dsp.Frame // u + bias and its ln cosh
}

// newTanhCurve is the curve that rests at rest, −1 < rest < 1.
func newTanhCurve(rest float64) *tanhCurve {
	c := &tanhCurve{bias: math.Atanh(rest), rest: rest, scale: 1 / (1 - rest*rest), table: theLogCosh()}
	c.reset()
	return c
}

func (c *tanhCurve) reset() {
	c.v = dsp.Frame{c.bias, c.bias}
	c.integral = dsp.Frame{c.table.at(c.bias), c.table.at(c.bias)}
}

func (c *tanhCurve) bend(buf []dsp.Frame) {
	table, bias, rest, scale := c.table, c.bias, c.rest, c.scale
	left, right, integralL, integralR := c.v[0], c.v[1], c.integral[0], c.integral[1]
	for i := range buf {
		l, r := buf[i][0]+bias, buf[i][1]+bias
		toL, toR := table.at(l), table.at(r)
		meanL, meanR := (toL-integralL)/(l-left), (toR-integralR)/(r-right)
		if math.Abs(l-left) < tooNear {
			meanL = table.slope((l + left) / 2)
		}
		if math.Abs(r-right) < tooNear {
			meanR = table.slope((r + right) / 2)
		}
		buf[i][0] = (meanL-rest)*scale - ((l+left)/2 - bias)
		buf[i][1] = (meanR-rest)*scale - ((r+right)/2 - bias)
		left, right, integralL, integralR = l, r, toL, toR
	}
	c.v, c.integral = dsp.Frame{left, right}, dsp.Frame{integralL, integralR}
}
