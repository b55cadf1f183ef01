package fault

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

// section is a filter of second order or first, in transposed direct form II:
//
//	H(z) = (b0 + b1·z⁻¹ + b2·z⁻²)/(1 + a1·z⁻¹ + a2·z⁻²)
type section struct {
	b0, b1, b2, a1, a2 float64
	s1, s2             dsp.Frame
}

func (f *section) reset() { f.s1, f.s2 = dsp.Frame{}, dsp.Frame{} }

func (f *section) process(buf []dsp.Frame) {
	b0, b1, b2, a1, a2, s1, s2 := f.b0, f.b1, f.b2, f.a1, f.a2, f.s1, f.s2
	for i, x := range buf {
		l, r := b0*x[0]+s1[0], b0*x[1]+s1[1]
		s1 = dsp.Frame{(b1*x[0] + s2[0]) - a1*l, (b1*x[1] + s2[1]) - a1*r}
		s2 = dsp.Frame{b2*x[0] - a2*l, b2*x[1] - a2*r}
		buf[i] = dsp.Frame{l, r}
	}
	f.s1, f.s2 = s1, s2
}

// power is |H|² at an angle of 0 to π.
func (f *section) power(angleRad float64) float64 {
	z := cmplx.Rect(1, -angleRad)
	above := complex(f.b0, 0) + z*(complex(f.b1, 0)+z*complex(f.b2, 0))
	below := 1 + z*(complex(f.a1, 0)+z*complex(f.a2, 0))
	return square(cmplx.Abs(above)) / square(cmplx.Abs(below))
}

// lowPass is of second order.
// Source: R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note (2021).
func lowPass(rateHz, freqHz, q float64) section {
	sin, cos := math.Sincos(2 * math.Pi * min(freqHz/rateHz, 0.49))
	alpha := sin / (2 * q)
	b := (1 - cos) / 2 / (1 + alpha)
	return section{b0: b, b1: 2 * b, b2: b, a1: -2 * cos / (1 + alpha), a2: (1 - alpha) / (1 + alpha)}
}

// highPass is of second order; see lowPass.
func highPass(rateHz, freqHz, q float64) section {
	sin, cos := math.Sincos(2 * math.Pi * min(freqHz/rateHz, 0.49))
	alpha := sin / (2 * q)
	b := (1 + cos) / 2 / (1 + alpha)
	return section{b0: b, b1: -2 * b, b2: b, a1: -2 * cos / (1 + alpha), a2: (1 - alpha) / (1 + alpha)}
}

// poleZero is a pole and a zero of first order, at 0 Hz of gain 1.
func poleZero(rateHz, poleHz, zeroHz float64) section {
	pole, zero := math.Exp(-2*math.Pi*poleHz/rateHz), math.Exp(-2*math.Pi*zeroHz/rateHz)
	b := (1 - pole) / (1 - zero)
	return section{b0: b, b1: -b * zero, a1: -pole}
}
