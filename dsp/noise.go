package dsp

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// White generates Gaussian white noise of standard deviation 1, the channels
// independent of each other. The same seed gives the same noise.
type White struct{ r *rand.Rand }

// NewWhite is white noise from a seed.
func NewWhite(seed uint64) *White { return &White{rand.New(rand.NewPCG(seed, 0))} }

// Fill overwrites buf with the next len(buf) frames of noise.
func (w *White) Fill(buf []Frame) {
	for i := range buf {
		buf[i] = Frame{w.r.NormFloat64(), w.r.NormFloat64()}
	}
}

// Pink generates pink noise, −3.01 dB per octave from 20 Hz to 0.4 of the
// rate within ±0.25 dB, rms 1, the channels independent of each other.
//
// White noise passes a cascade of first-order sections whose poles and zeros
// alternate along the logarithm of frequency, so that the staircase of their
// slopes averages to half of a first-order one.
// Source: J. O. Smith, Spectral Audio Signal Processing (2011), "Example:
// Synthesis of 1/F Noise" names the method (from memory); the placement, one
// pole an octave, is our own.
type Pink struct {
	white    *White
	sections []pinkSection
	ratio    float64 // makes the rms 1
}

// topZero is a last section that takes back the 1.3 dB by which the cascade,
// mapped to a sample rate, rises towards half of it. Fitted by computation.
const topZero = -0.08

type pinkSection struct {
	pole, zero float64
	x, y       Frame
}

// NewPink is pink noise at a rate, from a seed.
func NewPink(rateHz float64, seed uint64) *Pink {
	p := &Pink{white: NewWhite(seed)}
	for poleHz := 5.0; poleHz < rateHz/2; poleHz *= 2 {
		p.sections = append(p.sections, pinkSection{
			pole: math.Exp(-2 * math.Pi * poleHz / rateHz),
			zero: math.Exp(-2 * math.Pi * poleHz * math.Sqrt2 / rateHz),
		})
	}
	p.sections = append(p.sections, pinkSection{zero: topZero})
	p.ratio = 1 / math.Sqrt(p.meanPower())
	return p
}

// meanPower is the power gain of the cascade for white noise: the mean of
// |H|² over the unit circle.
func (p *Pink) meanPower() float64 {
	const n = 1 << 14
	sum := 0.0
	for i := range n {
		sum += p.power(math.Pi * (float64(i) + 0.5) / n)
	}
	return sum / n
}

func (p *Pink) power(omega float64) float64 {
	z := cmplx.Rect(1, -omega)
	h := complex(1, 0)
	for i := range p.sections {
		s := &p.sections[i]
		h *= (1 - complex(s.zero, 0)*z) / (1 - complex(s.pole, 0)*z)
	}
	return real(h)*real(h) + imag(h)*imag(h)
}

// Fill overwrites buf with the next len(buf) frames of noise.
func (p *Pink) Fill(buf []Frame) {
	p.white.Fill(buf)
	for i := range p.sections {
		p.sections[i].process(buf)
	}
	Gain(p.ratio).Process(buf)
}

func (s *pinkSection) process(buf []Frame) {
	pole, zero, x, y := s.pole, s.zero, s.x, s.y
	for i, in := range buf {
		y[0] = in[0] - zero*x[0] + pole*y[0]
		y[1] = in[1] - zero*x[1] + pole*y[1]
		x, buf[i] = in, y
	}
	s.x, s.y = x, y
}
