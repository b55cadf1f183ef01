package eq

import (
	"math"

	"strop/dsp"
)

var (
	shelfGain  = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -24, Max: 24, Neutral: 0}
	shelfSlope = dsp.Param{ID: "slope", Name: "slope", Min: 0.2, Max: 1, Neutral: 1, Scale: dsp.Log}
)

// MatchedHighShelf changes everything above freqHz by gainDB, half of it at
// freqHz. slope is the cookbook's: 1 is the steepest without overshoot. The
// equal boost and cut cancel exactly; gainDB 0 is Identity's response.
//
// A cut has the analogue poles through z = e^(s/fs), in the manner of M.
// Vicanek, Matched Second Order Digital Filters (2016); its zeros make the
// power response equal the analogue one at 0 Hz, at half the rate, and at
// freqHz or 0.35 of the rate, whichever is lower. A boost is the inverse of the
// cut. The three frequencies are our own choice, by computation: Vicanek's
// shelves of 2024 are somewhat nearer for slope 1, but know no other slope.
func MatchedHighShelf(rateHz, freqHz, gainDB, slope float64) Coefficients {
	if gainDB > 0 {
		return MatchedHighShelf(rateHz, freqHz, -gainDB, slope).Invert()
	}
	p := shelfPrototype{dsp.FromDB(gainDB / 2), shelfQ(gainDB, slope)}
	m := newMatched(rateHz, freqHz*math.Sqrt(p.a), p.q)
	if gainDB == 0 {
		return Coefficients{1, m.a1, m.a2, m.a1, m.a2}
	}
	r := min(1, 0.35*rateHz/freqHz)
	phi := sq(math.Sin(math.Pi * r * freqHz / rateHz))
	B1 := p.power(rateHz/(2*freqHz)) * m.A1
	B2 := (p.power(r)*m.powerAt(phi) - m.A0*(1-phi) - B1*phi) / (4 * phi * (1 - phi))
	return m.over(m.A0, B1, B2)
}

// MatchedLowShelf changes everything below freqHz by gainDB, half of it at
// freqHz: the opposite high shelf, raised or lowered as a whole.
func MatchedLowShelf(rateHz, freqHz, gainDB, slope float64) Coefficients {
	return MatchedHighShelf(rateHz, freqHz, -gainDB, slope).scaled(dsp.FromDB(gainDB))
}

// shelfQ is the Q of a slope: 1/Q² = (a + 1/a)·(1/slope − 1) + 2, a² the gain.
// Source: R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter
// coefficients (W3C Group Note, 2021).
func shelfQ(gainDB, slope float64) float64 {
	a := dsp.FromDB(gainDB / 2)
	return 1 / math.Sqrt((a+1/a)*(1/slope-1)+2)
}

// shelfPrototype is the cookbook's analogue high shelf of gain a²:
//
//	H(s) = a·(a·s² + s·√a/q + 1)/(s² + s·√a/q + a)
type shelfPrototype struct{ a, q float64 }

// power is |H|² at r times the shelf's frequency.
func (p shelfPrototype) power(r float64) float64 {
	a, r2 := p.a, r*r
	damped := a * r2 / (p.q * p.q)
	return a * a * (sq(1-a*r2) + damped) / (sq(a-r2) + damped)
}
