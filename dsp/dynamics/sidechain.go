package dynamics

import (
	"math"

	"strop/dsp"
)

// svf is the trapezoidal state-variable filter of second order with the
// damping of Butterworth: low-pass, high-pass and all-pass at once.
//
//	d = x − s2;  s1' = (2a1−1)·s1 + 2a2·d;  s2' = s2 + 2a2·s1 + 2a3·d
//	band = (s1 + s1')/2,  low = (s2 + s2')/2,  high = x − √2·band − low
//
// Source: A. Simper, Solving the continuous SVF equations using trapezoidal
// integration and equivalent currents, 2013 (from memory); V. Zavalishin, The
// Art of VA Filter Design, 2012 (from memory). The response is that of the
// bilinear transform with the corner put right.
type svf struct {
	n1, t2, t3 float64 // 2a1−1, 2a2, 2a3
	one, two   dsp.Frame
	since      int
}

const damping = math.Sqrt2

func newSVF(freqHz, rateHz float64) svf {
	g := math.Tan(math.Pi * freqHz / rateHz)
	a1 := 1 / (1 + g*(g+damping))
	return svf{n1: 2*a1 - 1, t2: 2 * g * a1, t3: 2 * g * g * a1}
}

func (f *svf) reset() { f.one, f.two, f.since = dsp.Frame{}, dsp.Frame{}, 0 }

const (
	restEvery = 256    // frames after which a memory is looked at
	restBelow = 1e-100 // and forgotten: −2000 dB
)

// low, high and pass filter in place.
func (f *svf) low(x []dsp.Frame)  { f.filter(x, 0, 0, 1) }
func (f *svf) high(x []dsp.Frame) { f.filter(x, 1, -damping, -1) }
func (f *svf) pass(x []dsp.Frame) { f.filter(x, 1, -2*damping, 0) }

// filter replaces x by in·x + band·(band-pass) + low·(low-pass).
func (f *svf) filter(x []dsp.Frame, in, band, low float64) {
	for len(x) > 0 {
		n := min(len(x), restEvery-f.since)
		f.stretch(x[:n], in, band/2, low/2)
		x = x[n:]
		f.count(n)
	}
}

func (f *svf) stretch(x []dsp.Frame, in, band, low float64) {
	n1, t2, t3 := f.n1, f.t2, f.t3
	l1, l2, r1, r2 := f.one[0], f.two[0], f.one[1], f.two[1]
	for i := range x {
		l, r := x[i][0], x[i][1]
		dl, dr := l-l2, r-r2
		m1, m2, s1, s2 := n1*l1+t2*dl, l2+t2*l1+t3*dl, n1*r1+t2*dr, r2+t2*r1+t3*dr
		x[i][0] = in*l + band*(l1+m1) + low*(l2+m2)
		x[i][1] = in*r + band*(r1+s1) + low*(r2+s2)
		l1, l2, r1, r2 = m1, m2, s1, s2
	}
	f.one, f.two = dsp.Frame{l1, r1}, dsp.Frame{l2, r2}
}

// count looks at the memory whenever restEvery frames have passed.
func (f *svf) count(n int) {
	f.since += n
	if f.since < restEvery {
		return
	}
	f.since = 0
	if size(f.one[0], f.one[1]) < restBelow && size(f.two[0], f.two[1]) < restBelow {
		f.one, f.two = dsp.Frame{}, dsp.Frame{}
	}
}

// tilt is a filter of first order that turns the spectrum about a pivot:
//
//	H(s) = (g·s + ω)/(s + g·ω),  |H| = 1/g at 0, 1 at ω, g at ∞
//
// by the bilinear transform with the pivot put right.
type tilt struct {
	b0, b1, a1 float64
	last, out  dsp.Frame
}

func newTilt(pivotHz, tiltDB, rateHz float64) tilt {
	g, w := math.Pow(10, tiltDB/40), math.Tan(math.Pi*pivotHz/rateHz)
	a0 := 1 + g*w
	return tilt{b0: (g + w) / a0, b1: (w - g) / a0, a1: (g*w - 1) / a0}
}

func (f *tilt) reset() { f.last, f.out = dsp.Frame{}, dsp.Frame{} }

func (f *tilt) process(x []dsp.Frame) {
	b0, b1, a1 := f.b0, f.b1, f.a1
	l, r, outL, outR := f.last[0], f.last[1], f.out[0], f.out[1]
	for i := range x {
		inL, inR := x[i][0], x[i][1]
		outL = (b0*inL + b1*l + tiny) - a1*outL
		outR = (b0*inR + b1*r + tiny) - a1*outR
		l, r = inL, inR
		x[i][0], x[i][1] = outL, outR
	}
	f.last, f.out = dsp.Frame{l, r}, dsp.Frame{outL, outR}
}

// sidechain is what a detector hears instead of the sound itself.
type sidechain struct {
	cut     svf
	tilt    tilt
	power   power
	cuts    bool
	tilts   bool
	squares bool
}

const tiltPivotHz = 1000

func newSidechain(rateHz, highPassHz, tiltDB, rmsMS float64) sidechain {
	s := sidechain{cuts: highPassHz > 0, tilts: tiltDB != 0, squares: rmsMS > 0}
	if s.cuts {
		s.cut = newSVF(highPassHz, rateHz)
	}
	if s.tilts {
		s.tilt = newTilt(tiltPivotHz, tiltDB, rateHz)
	}
	if s.squares {
		s.power = power{rest: keep(rmsMS, rateHz)}
	}
	return s
}

func (s *sidechain) reset() {
	s.cut.reset()
	s.tilt.reset()
	s.power.reset()
}

// doublings is how many doublings of level a doubling of what hear gives is.
func (s *sidechain) doublings() float64 {
	if s.squares {
		return 0.5
	}
	return 1
}

// hear replaces the sound by what the detector takes the levels of: samples
// or mean powers.
func (s *sidechain) hear(x []dsp.Frame) {
	if s.cuts {
		s.cut.high(x)
	}
	if s.tilts {
		s.tilt.process(x)
	}
	if s.squares {
		s.power.follow(x)
	}
}
