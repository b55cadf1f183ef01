package saturation

import "strop/dsp"

var asymmetry = dsp.Param{ID: "asymmetry", Name: "asymmetry", Min: 0, Max: 0.5, Neutral: 0.25}

// blockerHz keeps the DC back that an asymmetric curve makes.
const blockerHz = 5

// Asymmetric bends one half of the waveform sooner than the other.
//
//	driveDB    how far a full-scale peak is above the level of Tanh   −60 to 40 dB; −60 is off
//	asymmetry  the curve begins as u − asymmetry·u²                   0 to 0.5; 0 is Tanh, 0.25 if not given
//	mixPct     how much of the result is bent                         0 to 100 %
//
// Even harmonics, the second above all, beside the odd ones. The DC that comes
// with them is kept back by a high-pass of first order, 3 dB down at 5 Hz. No
// make-up gain: what is quiet keeps its level; the half that bends later may
// rise by up to 1.9 dB before it falls. The delay is that of Tanh.
//
// Source: Parker, Zavalishin & Le Bivic, DAFx-16 (2016), first order at four
// times the rate; tanh about a shifted resting point is common practice, no
// source.
var Asymmetric = dsp.Spec{
	ID:     "asymmetric",
	Name:   "asymmetric saturation",
	Doc:    "Bends one half of the waveform sooner than the other: even harmonics.",
	Source: "Parker, Zavalishin & Le Bivic, DAFx-16, 2016",
	Params: []dsp.Param{driveDB, asymmetry, mixPct},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		w := newWaveshaper(rateHz, s, newTanhCurve(s.Get(asymmetry)))
		w.wet = newBlocker(rateHz, blockerHz)
		return w, nil
	},
}
