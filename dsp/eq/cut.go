package eq

import (
	"fmt"
	"math"

	"strop/dsp"
)

var (
	cutSlope  = dsp.Param{ID: "slopeDBOct", Name: "slope", Unit: "dB/oct", Min: 0, Max: 48, Neutral: 0, Step: 6}
	cutCorner = dsp.Param{ID: "cornerDB", Name: "level at the frequency", Unit: "dB", Min: -6, Max: -3, Neutral: -3, Step: 3}
)

// cut is what a low cut and a high cut share: the section designs that differ.
type cut struct {
	freq   dsp.Param
	second func(rateHz, freqHz, q float64) Coefficients
	first  func(rateHz, freqHz float64) Coefficients
}

// sections are the filter in series, none for a slope of 0: a Butterworth
// filter, or two alike of half the slope, which is Linkwitz and Riley's.
func (c cut) sections(rateHz float64, s dsp.Setting) (sections []Coefficients) {
	order, times := int(s.Get(cutSlope)/6), 1
	if s.Get(cutCorner) == cutCorner.Min {
		order, times = order/2, 2
	}
	for range times {
		for _, q := range ButterworthQs(order) {
			sections = append(sections, c.second(rateHz, s.Get(c.freq), q))
		}
		if order%2 == 1 {
			sections = append(sections, c.first(rateHz, s.Get(c.freq)))
		}
	}
	return sections
}

func (c cut) build(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
	if err := belowHalfRate(rateHz, s.Get(c.freq)); err != nil {
		return nil, err
	}
	if slope := s.Get(cutSlope); s.Get(cutCorner) == cutCorner.Min && math.Mod(slope, 12) != 0 {
		return nil, fmt.Errorf("slopeDBOct=%g does not go with cornerDB=-6; take 12, 24, 36 or 48 dB/oct", slope)
	}
	return newSeries(c.sections(rateHz, s)), nil
}

func (c cut) response(rateHz, freqHz float64, s dsp.Setting) complex128 {
	return seriesResponse(c.sections(rateHz, s), rateHz, freqHz)
}

// newSeries runs sections one after the other.
func newSeries(sections []Coefficients) dsp.Chain {
	chain := make(dsp.Chain, len(sections))
	for i, c := range sections {
		chain[i] = NewBiquad(c)
	}
	return chain
}

// seriesResponse is the product of the sections' responses.
func seriesResponse(sections []Coefficients, rateHz, freqHz float64) complex128 {
	h := complex(1, 0)
	for _, c := range sections {
		h *= c.Response(rateHz, freqHz)
	}
	return h
}

// onePole is the denominator 1 − z⁻¹·e^(−w) of a first-order section, and its
// power response A0·(1−φ) + A1·φ.
func onePole(rateHz, freqHz float64) matched {
	w := 2 * math.Pi * freqHz / rateHz
	m := matched{a1: -math.Exp(-w), phi1: sq(math.Sin(w / 2))}
	m.phi0 = 1 - m.phi1
	m.A0, m.A1 = sq(math.Expm1(-w)), sq(1-m.a1)
	return m
}

// matchedLowPass1 falls by 6 dB per octave: exact at 0 Hz and, −3.01 dB, at
// freqHz. It is the first-order form of MatchedLowPass.
func matchedLowPass1(rateHz, freqHz float64) Coefficients {
	m := onePole(rateHz, freqHz)
	return m.over(m.A0, max(0, m.power()/2-m.A0*m.phi0)/m.phi1, 0)
}

// matchedHighPass1 falls by 6 dB per octave below freqHz, where it is exact.
func matchedHighPass1(rateHz, freqHz float64) Coefficients {
	m := onePole(rateHz, freqHz)
	return m.over(0, m.power()/(2*m.phi1), 0)
}
