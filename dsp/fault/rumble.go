package fault

import "strop/dsp"

var rumbleTop = dsp.Param{ID: "highcutHz", Name: "high cut", Unit: "Hz", Min: 30, Max: 120, Neutral: 60, Scale: dsp.Log}

// Rumble adds the noise of traffic, of an air duct or of a turntable.
//
//	levelDBFS  rms of all of it                       −96 to −12 dBFS; −96 is none at all
//	highcutHz  from where it falls, 24 dB per octave  30 to 120 Hz
//	seed       draws the noise                        0 to 1048576
//
// Steady noise from 10 Hz on, where a cut of second order ends it: much of it
// no small loudspeaker shows. The channels are independent. No latency.
// Source: common practice, no source; the filters are S. Butterworth's (1930),
// by the bilinear transform.
var Rumble = dsp.Spec{
	ID:     "rumble",
	Name:   "rumble",
	Doc:    "Adds noise of 10 Hz to 60 Hz, as of traffic, an air duct or a turntable.",
	Source: "common practice, no source",
	Params: []dsp.Param{fullDB, rumbleTop, seed},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		topHz := s.Get(rumbleTop)
		return newNoise(rateHz, s, 4, 1, 10*topHz,
			highPass(rateHz, 10, butterworthQ), lowPass(rateHz, topHz, steepQ[0]), lowPass(rateHz, topHz, steepQ[1])), nil
	},
}

// Quality of the sections of Butterworth filters of order 2 and 4: the printed
// 0.7071, 0.5412 and 1.3066.
const butterworthQ = 0.70710678118654752

var steepQ = [2]float64{0.54119610014619698, 1.30656296487637653}
