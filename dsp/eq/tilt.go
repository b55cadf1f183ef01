package eq

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

var (
	tiltPivot = dsp.Param{ID: "freqHz", Name: "pivot", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	tiltSlope = dsp.Param{ID: "slopeDBOct", Name: "slope", Unit: "dB/oct", Min: -3, Max: 3, Neutral: 0}
)

// Tilt leans the whole spectrum around one frequency, by the same number of
// dB in every octave from 20 Hz to 20 kHz:
//
//	gain at f = slopeDBOct·log2(f/freqHz) dB
//
//	freqHz      pivot, which keeps its level     20 to 20000 Hz, below 0.49 of the rate
//	slopeDBOct  positive is brighter             −3 to 3 dB/oct; 0 does nothing
//
// No latency. First-order sections whose poles lie two octaves apart from 4 Hz
// to 8 times the rate, the zero of each as far below its pole as the slope
// asks: a staircase of which the corners are round. Poles through z = e^(s/fs);
// the zeros make the power response equal the analogue one at 0 Hz and at 0.4
// of the rate. The negative slope is the inverse of the positive one.
//
// Source: J. O. Smith, Spectral Audio Signal Processing (2011), "Example:
// Synthesis of 1/F Noise" names the method (from memory); the placement is our
// own.
var Tilt = dsp.Spec{
	ID:     "tilt",
	Name:   "tilt",
	Doc:    "Leans the whole spectrum around one frequency.",
	Source: "method of J. O. Smith, Spectral Audio Signal Processing, 2011",
	Params: []dsp.Param{tiltPivot, tiltSlope},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		if err := belowHalfRate(rateHz, s.Get(tiltPivot)); err != nil {
			return nil, err
		}
		return newSeries(designTilt(rateHz, s)), nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		return seriesResponse(designTilt(rateHz, s), rateHz, freqHz)
	},
}

func designTilt(rateHz float64, s dsp.Setting) (sections []Coefficients) {
	const lowestHz, stepOct = 4, 2
	slope := s.Get(tiltSlope)
	ratio := dsp.FromDB(math.Abs(slope) * stepOct) // gain of a section, and its pole over its zero
	for poleHz := float64(lowestHz); poleHz < 8*rateHz; poleHz *= 1 << (2 * stepOct) {
		low := tiltSection(rateHz, poleHz, ratio)
		high := tiltSection(rateHz, poleHz*(1<<stepOct), ratio)
		sections = append(sections, low.times(high))
	}
	if slope < 0 {
		for i, c := range sections {
			sections[i] = c.Invert()
		}
	}
	atPivot := cmplx.Abs(seriesResponse(sections, rateHz, s.Get(tiltPivot)))
	sections[0] = sections[0].scaled(1 / atPivot)
	return sections
}

// tiltSection is (s·ratio/p + 1)/(s/p + 1), p the pole.
func tiltSection(rateHz, poleHz, ratio float64) Coefficients {
	const matchAt = 0.4
	phi, r := sq(math.Sin(math.Pi*matchAt)), matchAt*rateHz/poleHz
	m := onePole(rateHz, poleHz)
	power := (1 + sq(r*ratio)) / (1 + sq(r))
	return m.over(m.A0, (power*m.powerAt(phi)-m.A0*(1-phi))/phi, 0)
}
