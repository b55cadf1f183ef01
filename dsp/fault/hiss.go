package fault

import (
	"math"

	"strop/dsp"
)

var hissSlope = dsp.Param{ID: "slopeDBOct", Name: "slope", Unit: "dB/oct", Min: -3, Max: 3, Neutral: 0}

// Hiss adds the noise of a tape or of an amplifier turned up too far.
//
//	levelDBFS   rms from 20 Hz to 20 kHz, unweighted           −96 to −12 dBFS; −96 is none at all
//	slopeDBOct  of its power density: 0 white, −3 pink, above  −3 to 3 dB per octave
//	            0 as of a tape
//	seed        draws the noise                                0 to 1048576
//
// The channels are independent. From 20 Hz to 0.4 of the rate the slope is a
// straight line within 0.5 dB. No latency.
// Source: as dsp.Pink.
var Hiss = dsp.Spec{
	ID:     "hiss",
	Name:   "hiss",
	Doc:    "Adds steady noise, as of a tape or of an amplifier turned up too far.",
	Source: "J. O. Smith, Spectral Audio Signal Processing, 2011",
	Params: []dsp.Param{fullDB, hissSlope, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newNoise(rateHz, s, 3, 20, 20000, slope(rateHz, s.Get(hissSlope))...), nil
	},
}

// slope is a cascade of a pole and a zero an octave. From the one to the other
// it falls or rises by 6 dB per octave; they lie as much of an octave apart as
// makes the mean dbOct.
func slope(rateHz, dbOct float64) (sections []section) {
	if dbOct == 0 {
		return nil
	}
	for poleHz := 5.0; poleHz < rateHz/2; poleHz *= 2 {
		sections = append(sections, poleZero(rateHz, poleHz, poleHz*math.Exp2(-dbOct/(20*math.Log10(2)))))
	}
	return sections
}
