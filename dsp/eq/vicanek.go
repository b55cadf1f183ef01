package eq

import (
	"math"

	"strop/dsp"
)

// The designs of this file are those of M. Vicanek, Matched Second Order
// Digital Filters (2016): the poles are the analogue ones through z = e^(s/fs),
// the zeros make the power response equal the analogue one at 0 Hz and at the
// centre frequency.

// matched is the denominator and what its power response is made of:
//
//	|D|² = A0·(1−φ) + A1·φ + A2·4φ(1−φ),  φ = sin²(ω/2)
type matched struct {
	a1, a2     float64
	A0, A1, A2 float64
	phi0, phi1 float64 // cos² and sin² of half the centre frequency
	r          float64 // distance of the poles from 0, √a2
	half       float64 // sinh² of half the decay per frame
	off        float64 // (1+a1+a2)/4r less phi1: how far 0 Hz is from a zero pair on the circle
}

// newMatched writes the sums 1±a1+a2 so that nothing cancels at low frequencies
// or high q.
func newMatched(rateHz, freqHz, q float64) matched {
	w, damp := 2*math.Pi*freqHz/rateHz, 1/(2*q)
	var m matched
	m.phi1 = sq(math.Sin(w / 2))
	m.phi0 = 1 - m.phi1
	m.r = math.Exp(-damp * w)
	m.half = sq(math.Sinh(damp * w / 2))
	if damp <= 1 {
		root := math.Sqrt(1 - damp*damp)
		m.off = m.half - math.Sin((1+root)*w/2)*math.Sin(damp*damp/(1+root)*w/2)
	} else {
		sum := damp + math.Sqrt(damp*damp-1)
		m.off = math.Sinh(sum*w/2)*math.Sinh(w/(2*sum)) - m.phi1
	}
	dc := 4 * m.r * (m.phi1 + m.off)
	m.a2 = m.r * m.r
	m.a1 = dc - 1 - m.a2
	m.A0, m.A1, m.A2 = dc*dc, sq(2*(1+m.a2)-dc), -4*m.a2
	return m
}

func sq(x float64) float64 { return x * x }

// power is |D|² at the centre frequency.
func (m matched) power() float64 { return m.powerAt(m.phi1) }

func (m matched) powerAt(phi float64) float64 {
	return m.A0*(1-phi) + m.A1*phi + m.A2*4*phi*(1-phi)
}

// over is the section with the poles of m and the minimum-phase zeros of the
// power response B0·(1−φ) + B1·φ + B2·4φ(1−φ).
func (m matched) over(B0, B1, B2 float64) Coefficients {
	dc, nyquist := math.Sqrt(B0), math.Sqrt(B1)
	w := (dc + nyquist) / 2
	b0 := (w + math.Sqrt(w*w+B2)) / 2
	return Coefficients{b0, (dc - nyquist) / 2, -B2 / (4 * b0), m.a1, m.a2}
}

// MatchedPeak boosts or cuts around freqHz by gainDB; q sets the bandwidth
// between the points of half the gain in dB, so the poles of a boost have
// q·10^(gainDB/40). A cut is the inverse of the equal boost: it is closer to
// the analogue filter than a cut designed as such, and cancels the boost
// exactly. gainDB 0 is Identity's response. freqHz must lie above 0 and below
// half the rate.
//
// Source: Vicanek 2016, section on peaking filters; his equations for the
// power B0, B1, B2 of the zeros are solved here in closed form,
//
//	B0 = A0,  B1 = G²·A1 − (G²−1)·A0·(φ0/φ1)²,  B2 = G²·A2 + (G²−1)·A0/(4·φ1²)
//
// and written in κ = off/φ1, so that they lose no digits however low the
// frequency, high the q or large the gain.
func MatchedPeak(rateHz, freqHz, gainDB, q float64) Coefficients {
	if gainDB < 0 {
		return MatchedPeak(rateHz, freqHz, -gainDB, q).Invert()
	}
	m := newMatched(rateHz, freqHz, q*dsp.FromDB(gainDB/2))
	if gainDB == 0 {
		return Coefficients{1, m.a1, m.a2, m.a1, m.a2}
	}
	G2, kappa := sq(dsp.FromDB(gainDB)), m.off/m.phi1
	B1 := 16 * m.a2 * (sq(m.phi0*(1+kappa)) + G2*(2*m.half-kappa)*(m.phi0*(2+kappa)-m.off+2*m.half))
	B2 := 4 * m.a2 * ((G2-1)*kappa*(2+kappa) - 1)
	return m.over(m.A0, B1, B2)
}

// MatchedLowPass falls by 12 dB per octave above freqHz; its gain at freqHz is
// q. Source: Vicanek 2016, section on low-pass filters.
func MatchedLowPass(rateHz, freqHz, q float64) Coefficients {
	m := newMatched(rateHz, freqHz, q)
	dc := math.Sqrt(m.A0)
	nyquist := math.Sqrt(max(0, m.power()*q*q-m.A0*m.phi0) / m.phi1) // below 0 by rounding alone
	b0 := (dc + nyquist) / 2
	return Coefficients{b0, dc - b0, 0, m.a1, m.a2}
}

// MatchedHighPass falls by 12 dB per octave below freqHz; its gain at freqHz
// is q. Source: Vicanek 2016, section on high-pass filters.
func MatchedHighPass(rateHz, freqHz, q float64) Coefficients {
	m := newMatched(rateHz, freqHz, q)
	b0 := math.Sqrt(m.power()) * q / (4 * m.phi1)
	return Coefficients{b0, -2 * b0, b0, m.a1, m.a2}
}
