// Package kaiser is J. F. Kaiser's window, under which every filter of strop
// stands that is a sinc cut short.
package kaiser

import "math"

// Window is the window at x from −1 to 1:
//
//	w(x) = I0(β·√(1 − x²)) / I0(β)
//
// It is 1 in the middle, 1/I0(β) at the ends, and 0 outside. The larger β, the
// lower its side lobes and the wider the lobe in the middle; 0 is a rectangle.
// See Beta.
//
// Source: J. F. Kaiser, Nonrecursive digital filter design using the I0-sinh
// window function, IEEE ISCAS (1974) (from memory).
func Window(x, beta float64) float64 {
	if x*x > 1 {
		return 0
	}
	return I0(beta*math.Sqrt(1-x*x)) / I0(beta)
}

// Beta is the β at which a filter's stop band lies attenuationDB down, from
// 50 dB on: 0.1102·(A − 8.7). Source: as of Window.
func Beta(attenuationDB float64) float64 { return 0.1102 * (attenuationDB - 8.7) }

// Length is how many taps a filter takes whose stop band lies attenuationDB
// down, where its transition is this wide, in cycles per frame:
// (A − 7.95)/(14.36·Δf) + 1. Source: as of Window.
func Length(transition, attenuationDB float64) float64 {
	return (attenuationDB-7.95)/(14.36*transition) + 1
}

// I0 is the modified Bessel function of the first kind and order 0, by its
// power series Σ ((x/2)^k / k!)², to about the last bit. It grows as e^x: at
// 709 and more it is +Inf.
//
// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions
// (1964), 9.6.12.
func I0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}
