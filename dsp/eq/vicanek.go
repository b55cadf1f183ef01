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
}

func newMatched(rateHz, freqHz, q float64) matched {
	w, damp := 2*math.Pi*freqHz/rateHz, 1/(2*q)
	var m matched
	m.phi1 = sq(math.Sin(w / 2))
	m.phi0 = 1 - m.phi1
	r := math.Exp(-damp * w)
	m.a2 = r * r
	var dc float64 // 1 + a1 + a2, written so that nothing cancels at low frequencies
	if damp <= 1 {
		theta := math.Sqrt(1-damp*damp) * w
		m.a1 = -2 * r * math.Cos(theta)
		dc = sq(math.Expm1(-damp*w)) + 4*r*sq(math.Sin(theta/2))
	} else {
		eta := math.Sqrt(damp*damp-1) * w
		m.a1 = -(math.Exp(eta-damp*w) + math.Exp(-eta-damp*w))
		dc = math.Expm1(eta-damp*w) * math.Expm1(-eta-damp*w)
	}
	m.A0, m.A1, m.A2 = dc*dc, sq(1-m.a1+m.a2), -4*m.a2
	return m
}

func sq(x float64) float64 { return x * x }

// power is |D|² at the centre frequency.
func (m matched) power() float64 { return m.A0*m.phi0 + m.A1*m.phi1 + m.A2*4*m.phi0*m.phi1 }

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
// which loses no digits however low the frequency.
func MatchedPeak(rateHz, freqHz, gainDB, q float64) Coefficients {
	if gainDB < 0 {
		return MatchedPeak(rateHz, freqHz, -gainDB, q).Invert()
	}
	m := newMatched(rateHz, freqHz, q*dsp.FromDB(gainDB/2))
	if gainDB == 0 {
		return Coefficients{1, m.a1, m.a2, m.a1, m.a2}
	}
	G2 := sq(dsp.FromDB(gainDB))
	B1 := G2*m.A1 - (G2-1)*m.A0*sq(m.phi0/m.phi1)
	B2 := G2*m.A2 + (G2-1)*m.A0/(4*sq(m.phi1))
	dc, nyquist := math.Sqrt(m.A0), math.Sqrt(B1)
	w := (dc + nyquist) / 2
	b0 := (w + math.Sqrt(w*w+B2)) / 2
	return Coefficients{b0, (dc - nyquist) / 2, -B2 / (4 * b0), m.a1, m.a2}
}

// MatchedLowPass falls by 12 dB per octave above freqHz; its gain at freqHz is
// q. Source: Vicanek 2016, section on low-pass filters.
func MatchedLowPass(rateHz, freqHz, q float64) Coefficients {
	m := newMatched(rateHz, freqHz, q)
	dc := math.Sqrt(m.A0)
	nyquist := math.Sqrt((m.power()*q*q - m.A0*m.phi0) / m.phi1)
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
