package space

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

// sections of a line's attenuation filter, of second order each.
const sections = 4

// A section is one of second order in the state-space form of eq.Biquad.
type section struct{ b0, c1, c2, a1, a2 float64 }

// attenuation is the filter of one delay line.
type attenuation [sections]section

// shelfHz are the corners of the first-order shelves that an attenuation is
// made of, between the octave bands: four low ones and four high ones.
var shelfHz = [2 * sections]float64{89, 178, 355, 708, 1413, 2818, 5623, 11220}

// shelf is a first-order high-shelf that changes what is above its corner.
//
//	H(s) = (√g·s + w)/(s/√g + w),  w = tan(π·f/fs), bilinear transform
type shelf struct{ b0, b1, a1 float64 }

func newShelf(rateHz, freqHz, gainDB float64) shelf {
	g, w := math.Sqrt(dsp.FromDB(gainDB)), math.Tan(math.Pi*min(freqHz/rateHz, 0.45))
	a0 := 1/g + w
	return shelf{(g + w) / a0, (w - g) / a0, (w - 1/g) / a0}
}

// db is the level of the response where the cosine of 2πf/fs is cos.
func (s shelf) db(cos float64) float64 {
	return dsp.PowerToDB((s.b0*s.b0 + s.b1*s.b1 + 2*s.b0*s.b1*cos) / (1 + s.a1*s.a1 + 2*s.a1*cos))
}

// designAttenuation makes the filter of a line of n frames whose loss is that of
// the decay times T at every frequency:
//
//	20·log10|H(f)| = −60·n/(fs·T(f))
//
// A common gain and eight first-order shelves are fitted to it by least squares
// of the error in proportion, which is the error of the decay, in a few rounds.
//
// Source: J.-M. Jot, A. Chaigne, Digital delay networks for designing artificial
// reverberators, AES 90th Convention (1991), for the loss; S. J. Schlecht, E. A.
// P. Habets, Accurate reverberation time control in feedback delay networks,
// DAFx-17 (2017), for a filter per line that is fitted in proportion to its
// length. Differs from it in: first-order shelves, since the decays that can be
// set are smooth.
func designAttenuation(rateHz float64, n int, decayS func(freqHz float64) float64) attenuation {
	lossDB := func(freqHz float64) float64 { return -60 * float64(n) / (rateHz * decayS(min(freqHz, 17000))) }
	var gainsDB gains
	for range fitRounds {
		step, largest := fitShelves(rateHz, gainsDB, lossDB), 0.0
		for i := range gainsDB {
			gainsDB[i] += min(max(step[i], -fitStepDB), fitStepDB)
			largest = max(largest, math.Abs(step[i]))
		}
		if largest < fitDoneDB {
			break
		}
	}
	ratio := dsp.FromDB(gainsDB[2*sections])
	var a attenuation
	for i := range a {
		p := newShelf(rateHz, shelfHz[2*i], gainsDB[2*i])
		q := newShelf(rateHz, shelfHz[2*i+1], gainsDB[2*i+1])
		b0, b1, b2 := ratio*p.b0*q.b0, ratio*(p.b0*q.b1+p.b1*q.b0), ratio*p.b1*q.b1
		a1, a2 := p.a1+q.a1, p.a1*q.a1
		a[i] = section{b0, b1 - a1*b0, b2 - a2*b0, a1, a2}
		ratio = 1
	}
	return a
}

const (
	fitTopHz  = 24000
	fitRidge  = 1e-5
	fitRounds = 30
	fitStepDB = 8    // that a gain may change in a round
	fitDoneDB = 1e-6 // with less change than this it is done
)

// gains in dB of the shelves, and last of everything.
type gains [2*sections + 1]float64

// fitShelves is one round of the fit, by the method of Gauss and Newton: what is
// to be added to gainsDB.
func fitShelves(rateHz float64, gainsDB gains, wantedDB func(freqHz float64) float64) gains {
	const small = 0.01                            // dB
	var m [len(gainsDB)][len(gainsDB) + 1]float64 // normal equations
	var shelves, more [2 * sections]shelf
	for i := range shelves {
		shelves[i] = newShelf(rateHz, shelfHz[i], gainsDB[i])
		more[i] = newShelf(rateHz, shelfHz[i], gainsDB[i]+small)
	}
	for freqHz := 20.0; freqHz < min(0.49*rateHz, fitTopHz); freqHz *= 1.15 {
		wanted := wantedDB(freqHz)
		missing := wanted - gainsDB[2*sections]
		row, cos := gains{2 * sections: 1}, math.Cos(2*math.Pi*freqHz/rateHz)
		for i := range 2 * sections {
			db := shelves[i].db(cos)
			row[i] = (more[i].db(cos) - db) / small
			missing -= db
		}
		for i := range row {
			for j := range row {
				m[i][j] += row[i] * row[j] / (wanted * wanted)
			}
			m[i][len(row)] += row[i] * missing / (wanted * wanted)
		}
	}
	for i := range 2 * sections { // small gains are preferred, for neighbours are much alike
		m[i][len(gainsDB)] -= fitRidge * m[i][i] * gainsDB[i]
		m[i][i] *= 1 + fitRidge
	}
	return solve(m)
}

// solve is Gauss's elimination; the matrix is positive definite.
func solve(m [2*sections + 1][2*sections + 2]float64) (x gains) {
	n := len(x)
	for i := range n {
		for j := i + 1; j < n; j++ {
			factor := m[j][i] / m[i][i]
			for k := i; k <= n; k++ {
				m[j][k] -= factor * m[i][k]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		x[i] = m[i][n]
		for k := i + 1; k < n; k++ {
			x[i] -= m[i][k] * x[k]
		}
		x[i] /= m[i][i]
	}
	return x
}

// response is H at freqHz.
func (a *attenuation) response(rateHz, freqHz float64) complex128 {
	z, h := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz), complex(1, 0)
	for _, s := range a {
		b1, b2 := s.c1+s.a1*s.b0, s.c2+s.a2*s.b0
		h *= (complex(s.b0, 0) + z*(complex(b1, 0)+z*complex(b2, 0))) / (1 + z*(complex(s.a1, 0)+z*complex(s.a2, 0)))
	}
	return h
}

// towards is part of the way from a to b. The poles stay inside the unit
// circle, for the coefficients of which that is true are a triangle.
func (s section) towards(b section, part float64) section {
	return section{
		s.b0 + part*(b.b0-s.b0), s.c1 + part*(b.c1-s.c1), s.c2 + part*(b.c2-s.c2),
		s.a1 + part*(b.a1-s.a1), s.a2 + part*(b.a2-s.a2),
	}
}

// memory of an attenuation filter.
type memory [sections][2]float64

// run filters x in place, two sections in a pass.
func (m *memory) run(x []float64, a *attenuation) {
	for i := 0; i < sections; i += 2 {
		p, q := a[i], a[i+1]
		p1, p2, q1, q2 := m[i][0], m[i][1], m[i+1][0], m[i+1][1]
		for n, in := range x {
			mid := p.b0*in + p1
			p1, p2 = p.c1*in+p2-p.a1*p1, p.c2*in-p.a2*p1
			x[n] = q.b0*mid + q1
			q1, q2 = q.c1*mid+q2-q.a1*q1, q.c2*mid-q.a2*q1
		}
		m[i], m[i+1] = [2]float64{p1, p2}, [2]float64{q1, q2}
	}
}

// glide filters x, from frame at of a stretch on, while the coefficients move
// from one set to another.
func (m *memory) glide(x []float64, from, to *attenuation, at int) {
	for i := range m {
		s1, s2 := m[i][0], m[i][1]
		for n, in := range x {
			c := from[i].towards(to[i], float64(at+n+1)/stretch)
			x[n] = c.b0*in + s1
			s1, s2 = c.c1*in+s2-c.a1*s1, c.c2*in-c.a2*s1
		}
		m[i] = [2]float64{s1, s2}
	}
}

// clear drops what has decayed below −2000 dB.
func (m *memory) clear() {
	for i := range m {
		if math.Abs(m[i][0]) < 1e-100 && math.Abs(m[i][1]) < 1e-100 {
			m[i] = [2]float64{}
		}
	}
}
