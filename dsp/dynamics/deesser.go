package dynamics

import (
	"fmt"
	"math"

	"strop/dsp"
)

// deEsserKneeDB is common practice, no source.
const deEsserKneeDB = 6

// DeEsser lowers the treble while there is too much of it.
//
//	freqHz       where the treble begins                       1000 to 12000 Hz, below 0.49 of the rate
//	thresholdDB  level of the treble above which it acts       −60 to 0 dB
//	ratio        dB in per dB out above it                     1 to 20; 1 does nothing, to the bit
//	rangeDB      the greatest reduction                        0 to 24 dB
//	attackMS     time to 63 % of a step up in reduction        0.1 to 20 ms, below the release
//	releaseMS    time in which a reduction falls to 37 %       10 to 500 ms
//
// It hears the sound through a low cut of 12 dB/oct and turns a high shelf of
// second order down, gain g at the top, without a bump or a dip on the way:
//
//	H(s) = (g·s² + √(2g)·s + 1)/(s² + √2·s + 1),  |H|² = (1 + g²ω⁴)/(1 + ω⁴)
//
// Linked channels, no latency.
//
// Source: curve and detector of Compressor; V. Zavalishin, The Art of VA Filter
// Design (2012) for a shelf from the outputs of one filter (from memory).
var DeEsser = dsp.Spec{
	ID:     "deesser",
	Name:   "de-esser",
	Doc:    "Lowers the treble while there is too much of it.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012; Zavalishin, The Art of VA Filter Design, 2012",
	Params: []dsp.Param{deEsserFreq, threshold, ratio, deEsserRange, deEsserAttack, deEsserRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(deEsserFreq)); err != nil {
			return nil, err
		}
		d, err := newDownward(rateHz, s.Get(threshold), s.Get(ratio), deEsserKneeDB, s.Get(deEsserAttack), s.Get(deEsserRelease))
		if err != nil {
			return nil, err
		}
		f := newSVF(s.Get(deEsserFreq), rateHz)
		return &deEsser{downward: d, cut: f, shelf: f, most: s.Get(deEsserRange) / doublingDB}, nil
	},
}

var (
	deEsserFreq    = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 1000, Max: 12000, Neutral: 5000, Scale: dsp.Log}
	deEsserRange   = dsp.Param{ID: "rangeDB", Name: "range", Unit: "dB", Min: 0, Max: 24, Neutral: 12}
	deEsserAttack  = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.1, Max: 20, Neutral: 1, Scale: dsp.Log}
	deEsserRelease = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 500, Neutral: 50, Scale: dsp.Log}
)

// belowHalfRate refuses a frequency that a filter at this rate cannot treat.
func belowHalfRate(rateHz, freqHz float64) error {
	if most := 0.49 * rateHz; freqHz >= most {
		return fmt.Errorf("a frequency of %g Hz is too high for a sample rate of %g Hz; stay below %g Hz", freqHz, rateHz, most)
	}
	return nil
}

// downward is a linked feed-forward compressor of peaks without its sound.
type downward struct {
	meter
	curve knee
	decoupled
}

func newDownward(rateHz, thresholdDB, ratio, kneeDB, attackMS, releaseMS float64) (downward, error) {
	if attackMS >= releaseMS {
		return downward{}, notFaster(attackMS, releaseMS)
	}
	return downward{
		curve: kneeAbove(thresholdDB, kneeDB, 1-1/ratio),
		decoupled: decoupled{
			attack:  keep(attackMS, rateHz),
			release: keep(decoupledRelease(attackMS, releaseMS), rateHz),
		},
	}, nil
}

func (d *downward) reset() {
	d.meter.reset()
	d.decoupled.reset()
}

// reductions are what heard asks for, smooth, at most most.
func (d *downward) reductions(x []float64, heard []dsp.Frame, most float64) {
	linkedLevels(x, heard, 1)
	d.curve.above(x)
	for i := range x {
		x[i] = min(x[i], most)
	}
	d.smooth(x)
	d.read(x)
}

type deEsser struct {
	downward
	cut, shelf svf
	most       float64
	heard      [block]dsp.Frame
	x          [block]float64
}

var (
	_ dsp.Processor = (*deEsser)(nil)
	_ Reducer       = (*deEsser)(nil)
)

// Reset forgets what it heard.
func (d *deEsser) Reset() {
	d.downward.reset()
	d.cut.reset()
	d.shelf.reset()
}

// Process works on buf in place.
func (d *deEsser) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), block)
		x, heard := d.x[:n], d.heard[:n]
		copy(heard, buf)
		d.cut.high(heard)
		d.reductions(x, heard, d.most)
		gains(x, 0, 1)
		d.shelf.turn(buf[:n], x)
		buf = buf[n:]
	}
}

// turn is the high shelf of gain g: x + (g−1)·high + √2·(√g−1)·band.
func (f *svf) turn(buf []dsp.Frame, gain []float64) {
	for len(buf) > 0 {
		n := min(len(buf), restEvery-f.since)
		f.turnStretch(buf[:n], gain[:n])
		buf, gain = buf[n:], gain[n:]
		f.count(n)
	}
}

func (f *svf) turnStretch(x []dsp.Frame, gain []float64) {
	n1, t2, t3 := f.n1, f.t2, f.t3
	l1, l2, r1, r2 := f.one[0], f.two[0], f.one[1], f.two[1]
	gain = gain[:len(x)]
	for i := range x {
		l, r, g := x[i][0], x[i][1], gain[i]
		dl, dr := l-l2, r-r2
		m1, m2, s1, s2 := n1*l1+t2*dl, l2+t2*l1+t3*dl, n1*r1+t2*dr, r2+t2*r1+t3*dr
		bl, br, low, lowR := (l1+m1)/2, (r1+s1)/2, (l2+m2)/2, (r2+s2)/2
		top, middle := g-1, damping*(math.Sqrt(g)-1)
		x[i][0] = l + top*(l-damping*bl-low) + middle*bl
		x[i][1] = r + top*(r-damping*br-lowR) + middle*br
		l1, l2, r1, r2 = m1, m2, s1, s2
	}
	f.one, f.two = dsp.Frame{l1, r1}, dsp.Frame{l2, r2}
}
