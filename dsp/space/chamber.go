package space

import "strop/dsp"

var chamberDecay = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.2, Max: 3, Neutral: 0.8, Scale: dsp.Log}

// Chamber is the sound of a small hard room that is made for reverb: dense
// almost at once. Parameters, latency and source are those of Hall; it is full
// after 12 ms.
var Chamber = reverbSpec(dsp.Spec{
	ID:     "chamber",
	Name:   "chamber",
	Doc:    "Adds the reverb of an echo chamber.",
	Source: "J. A. Moorer, About this reverberation business, Computer Music Journal 3(2), 1979",
	Params: []dsp.Param{chamberDecay, bassParam, trebleParam},
}, func(rateHz float64, s dsp.Setting) (*Response, error) {
	return noisy(rateHz, s, chamberDecay, 0.003, 0.009, 8, 0xc4a), nil
})
