package pitch

import "math"

// Phases are in turns: 1 is 2π. Their functions come from short polynomials,
// right to 1e-8, which is −160 dB.

// wrapped is a phase within ±½.
func wrapped(turns float64) float64 { return turns - math.Floor(turns+0.5) }

// turnOf is the phase of a complex number, within ±½. That of 0 means nothing.
//
// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions
// (1964), 4.4.49 (from memory).
func turnOf(re, im float64) float64 {
	x, y := math.Abs(re), math.Abs(im)
	high := max(x, y, math.SmallestNonzeroFloat64)
	t := min(x, y) / high
	s := t * t
	s2 := s * s
	s4 := s2 * s2
	low := 1 - 0.3333314528*s + (0.1999355085-0.1420889944*s)*s2
	top := 0.1065626393 - 0.0752896400*s + (0.0429096138-0.0161657367*s)*s2 + 0.0028662257*s4
	a := (low + top*s4) * t * (1 / (2 * math.Pi))
	// Without branches, which could not be foreseen: a quarter less a where y is
	// the greater, half less that to the left.
	a = 0.125 + math.Copysign(0.125-a, y-x)
	a = 0.25 - math.Copysign(0.25-a, re)
	return math.Copysign(a, im)
}

// turnsFrom fills out with the phases of both channels together, in turns, from
// each bin of b to the one of a that lies ahead of it.
func turnsFrom(out []float64, a, b *spectra, ahead int) {
	done := 0
	if vectors && len(out) >= 4 {
		done = len(out) &^ 3
		turns4(&out[0], &a.plusRe[ahead], &a.plusIm[ahead], &a.minusRe[ahead], &a.minusIm[ahead],
			&b.plusRe[0], &b.plusIm[0], &b.minusRe[0], &b.minusIm[0], done)
	}
	for k := done; k < len(out); k++ {
		out[k] = turnFrom(a, k+ahead, b, k)
	}
}

// turnFrom is the phase from bin k of b to bin i of a.
func turnFrom(a *spectra, i int, b *spectra, k int) float64 {
	re := a.plusRe[i]*b.plusRe[k] + a.plusIm[i]*b.plusIm[k] + a.minusRe[i]*b.minusRe[k] + a.minusIm[i]*b.minusIm[k]
	im := a.plusIm[i]*b.plusRe[k] - a.plusRe[i]*b.plusIm[k] + a.minusIm[i]*b.minusRe[k] - a.minusRe[i]*b.minusIm[k]
	return turnOf(re, im)
}

// leaps turns phases from one window to the next, hop frames later, into by how
// much more each bin has to advance when the windows come to lie sets frames
// apart:
//
//	k·(sets − hop)/n + (sets/hop − 1)·(the phase − k·hop/n), the latter wrapped
func leaps(phases []float64, hop, sets, n int) {
	mask, more, scale := n-1, float64(sets)/float64(hop)-1, 1/float64(n)
	done := 0
	if vectors && len(phases) >= 4 {
		done = len(phases) &^ 3
		leaps4(&phases[0], more, scale, hop, sets-hop, mask, done)
	}
	for k := done; k < len(phases); k++ {
		deviation := wrapped(phases[k] - float64(k*hop&mask)*scale)
		phases[k] = float64(k*(sets-hop)&mask)*scale + more*deviation
	}
}

// rises turns phases from one bin to the next into by how much more they have
// to rise, more times as they do as seen from the middle of the window: half a
// turn from that seen from its first frame.
func rises(phases []float64, more float64) {
	done := 0
	if vectors && len(phases) >= 4 {
		done = len(phases) &^ 3
		rises4(&phases[0], more, done)
	}
	for k := done; k < len(phases); k++ {
		phases[k] = more * wrapped(phases[k]+0.5)
	}
}

// sincosOf is the sine and the cosine of a phase within ±½, from those of half
// of it.
//
// Source: the same, 4.3.97 and 4.3.99 (from memory).
func sincosOf(turns float64) (sin, cos float64) {
	x := math.Pi * turns
	s := x * x
	sin = (((((-0.0000000239*s+0.0000027526)*s-0.0001984090)*s+0.0083333315)*s-0.1666666664)*s + 1) * x
	cos = ((((-0.0000002605*s+0.0000247609)*s-0.0013888397)*s+0.0416666418)*s-0.4999999963)*s + 1
	return 2 * sin * cos, cos*cos - sin*sin
}
