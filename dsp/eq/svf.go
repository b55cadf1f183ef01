package eq

import (
	"math"

	"strop/dsp"
)

// svf is a second-order section as a state-variable filter: integrators of
// gain g in a loop of damping k, and what of input, band and low make the
// output. Where the coefficients of a direct form may not change while it
// sounds, these may: the memory is that of two integrators, which keep their
// levels.
//
// Source: A. Simper, Solving the continuous SVF equations using trapezoidal
// integration and equivalent currents (2013) (from memory); V. Zavalishin, The
// Art of VA Filter Design (2012) (from memory).
type svf struct{ g, k, input, band, low float64 }

// svf is the state-variable filter of the same response: every section with
// poles inside the unit circle has one.
func (c Coefficients) svf() svf {
	dc, nyquist := 1+c.A1+c.A2, 1-c.A1+c.A2
	f := svf{
		g:     math.Sqrt(dc / nyquist),
		input: (c.B0 - c.B1 + c.B2) / nyquist,
	}
	f.k = 2 * (1 - c.A2) / (nyquist * f.g)
	f.low = (c.B0+c.B1+c.B2)/dc - f.input
	f.band = 2 * (c.B0 - c.B2 - f.input*(1-c.A2)) / (nyquist * f.g)
	return f
}

// towards is f, a part of the way to the other, from 0 to 1.
func (f svf) towards(to svf, part float64) svf {
	return svf{
		f.g + part*(to.g-f.g), f.k + part*(to.k-f.k),
		f.input + part*(to.input-f.input), f.band + part*(to.band-f.band), f.low + part*(to.low-f.low),
	}
}

// loop is the solved loop: band and low pass per unit of what drives them.
func (f svf) loop() (a1, a2, a3 float64) {
	a1 = 1 / (1 + f.g*(f.g+f.k))
	return a1, f.g * a1, f.g * f.g * a1
}

// memory of the two integrators of each channel.
type memory struct{ left, right [2]float64 }

// run filters buf with f standing still.
func (m *memory) run(buf []dsp.Frame, f svf) {
	a1, a2, a3 := f.loop()
	l1, l2, r1, r2 := m.left[0], m.left[1], m.right[0], m.right[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		lb, rb := a1*l1+a2*(l-l2), a1*r1+a2*(r-r2)
		ll, rl := l2+a2*l1+a3*(l-l2), r2+a2*r1+a3*(r-r2)
		l1, l2, r1, r2 = 2*lb-l1, 2*ll-l2, 2*rb-r1, 2*rl-r2
		buf[i] = dsp.Frame{f.input*l + f.band*lb + f.low*ll, f.input*r + f.band*rb + f.low*rl}
	}
	m.left, m.right = [2]float64{l1, l2}, [2]float64{r1, r2}
}

// clear sets what has decayed below −2000 dB to 0.
func (m *memory) clear() {
	clearTiny(&m.left)
	clearTiny(&m.right)
}
