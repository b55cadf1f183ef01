package fault

import (
	"math/rand/v2"

	"strop/dsp"
)

var brightHz = dsp.Param{ID: "brightHz", Name: "brightness", Unit: "Hz", Min: 1000, Max: 10000, Neutral: 6000, Scale: dsp.Log}

// Buzz adds what rectifiers and dimmers leak into a line: a click at every
// half cycle of the mains.
//
//	mainsHz    frequency of the mains, half that of the clicks   50 or 60 Hz
//	levelDBFS  rms of all partials together                      −96 to −12 dBFS; −96 is none at all
//	brightHz   up to where it falls by 6 dB per octave,           1000 to 10000 Hz
//	           and by 12 above
//	seed       draws the drift of the mains                      0 to 1048576
//
// The partials of twice the mains pass one pole there and one at brightHz, to
// 20 kHz. The frequency wanders by up to 0.1 %. The same in both channels. No
// latency.
// Source: common practice, no source.
var Buzz = dsp.Spec{
	ID:     "buzz",
	Name:   "buzz",
	Doc:    "Adds the buzz of a rectifier or a dimmer, twice the mains and its multiples.",
	Source: "common practice, no source",
	Params: []dsp.Param{mainsHz, fullDB, brightHz, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		partials := buzzPartials(2*s.Get(mainsHz), s.Get(brightHz))
		return newMains(rateHz, s, partials, rand.New(rand.NewPCG(seedOf(s), 2))), nil
	},
}

// buzzPartials are the multiples of freqHz, which is twice the mains, by
// partial of the mains.
func buzzPartials(freqHz, brightHz float64) []complex128 {
	partials := make([]complex128, 2*int(20000/freqHz)+1)
	for k := 2; k < len(partials); k += 2 {
		order := float64(k / 2)
		partials[k] = 1 / (complex(1, order) * complex(1, order*freqHz/brightHz))
	}
	return partials
}
