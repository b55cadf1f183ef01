package dynamics

import "strop/dsp"

// crossover splits sound by Linkwitz–Riley filters of 24 dB/oct: Butterworth's
// of second order, twice. Both parts are 6 dB down where they meet, in phase
// everywhere, and together the all-pass of the Butterworth filter.
//
// Source: S. Linkwitz, R. Riley, Active crossover networks for noncoincident
// drivers, JAES 24(1) (1976) (from memory).
type crossover struct{ first, low, high svf }

func (c *crossover) reset() {
	c.first.reset()
	c.low.reset()
	c.high.reset()
}

// split leaves in x what is low and puts into high what is high. Both are
// as long.
func (c *crossover) split(x, high []dsp.Frame) {
	c.first.split(x, high)
	c.low.low(x)
	c.high.high(high)
}

// split leaves the low-pass in x and puts the high-pass into high.
func (f *svf) split(x, high []dsp.Frame) {
	for len(x) > 0 {
		n := min(len(x), restEvery-f.since)
		f.splitStretch(x[:n], high[:n])
		x, high = x[n:], high[n:]
		f.count(n)
	}
}

func (f *svf) splitStretch(x, high []dsp.Frame) {
	n1, t2, t3 := f.n1, f.t2, f.t3
	l1, l2, r1, r2 := f.one[0], f.two[0], f.one[1], f.two[1]
	high = high[:len(x)]
	for i := range x {
		l, r := x[i][0], x[i][1]
		dl, dr := l-l2, r-r2
		m1, m2, s1, s2 := n1*l1+t2*dl, l2+t2*l1+t3*dl, n1*r1+t2*dr, r2+t2*r1+t3*dr
		low, lowR := (l2+m2)/2, (r2+s2)/2
		x[i][0], x[i][1] = low, lowR
		high[i][0] = l - damping/2*(l1+m1) - low
		high[i][1] = r - damping/2*(r1+s1) - lowR
		l1, l2, r1, r2 = m1, m2, s1, s2
	}
	f.one, f.two = dsp.Frame{l1, r1}, dsp.Frame{l2, r2}
}
