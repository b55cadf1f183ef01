package saturation

import (
	"math"

	"strop/dsp"
)

var trebleDB = dsp.Param{ID: "trebleDB", Name: "treble emphasis", Unit: "dB", Min: 0, Max: 20, Neutral: 10}

// tapeCornerHz is that of 50 µs, an equalisation of tape at 38 and 19 cm/s
// (NAB standard, from memory).
const tapeCornerHz = 1 / (2 * math.Pi * 50e-6)

// Tape bends the waveform gently, the treble sooner: loud treble is lost, quiet
// treble is not.
//
//	driveDB   how far a full-scale peak is above the knee, in the bass   −60 to 40 dB; −60 is off
//	trebleDB  how much sooner the highest treble gets there              0 to 20 dB; 10 if not given
//	mixPct    how much of the result is bent                             0 to 100 %
//
// A shelf of trebleDB from 3.18 kHz on stands before the curve and its inverse
// after it. Odd harmonics. What is quiet passes flat and keeps its level; no
// make-up gain. It is no tape machine: no hysteresis, noise, flutter or bump in
// the bass. The delay is that of Tanh.
//
// Source: Parker, Zavalishin & Le Bivic, DAFx-16 (2016), first order at four
// times the rate; emphasis before and its inverse after saturation, and the
// curve u/√(1+u²), are common practice, no source. Differs from the paper in:
// the quotient of antiderivatives is divided out.
var Tape = dsp.Spec{
	ID:     "tape",
	Name:   "tape-like saturation",
	Doc:    "Bends loud sound gently, the treble sooner than the bass.",
	Source: "Parker, Zavalishin & Le Bivic, DAFx-16, 2016",
	Params: []dsp.Param{driveDB, trebleDB, mixPct},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		w := newWaveshaper(rateHz, s, newRootCurve())
		w.before = newShelf(rateHz, tapeCornerHz, s.Get(trebleDB))
		w.after = w.before.inverse()
		return w, nil
	},
}

// rootCurve is f(u) = u/√(1+u²). Its antiderivative is √(1+u²), and the mean
// from a to b (a+b)/(√(1+a²) + √(1+b²)): there is no quotient that could fail.
type rootCurve struct{ u, root dsp.Frame }

func newRootCurve() *rootCurve {
	c := &rootCurve{}
	c.reset()
	return c
}

func (c *rootCurve) reset() { *c = rootCurve{root: dsp.Frame{1, 1}} }

func (c *rootCurve) bend(buf []dsp.Frame) {
	u, root := c.u, c.root
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		rootL, rootR := math.Sqrt(1+l*l), math.Sqrt(1+r*r)
		buf[i][0] = (u[0] + l) * (1/(root[0]+rootL) - 0.5)
		buf[i][1] = (u[1] + r) * (1/(root[1]+rootR) - 0.5)
		u[0], u[1], root[0], root[1] = l, r, rootL, rootR
	}
	c.u, c.root = u, root
}
