// Package stereo holds the processors of level, position and phase.
package stereo

import "strop/dsp"

var gainDB = dsp.Param{ID: "gainDB", Name: "gain", Unit: "dB", Min: -96, Max: 24, Neutral: 0}

// Gain changes the level of both channels alike.
//
//	gainDB  level out less level in    −96 to 24 dB; 0 does nothing, to the bit
//
// No latency.
var Gain = dsp.Spec{
	ID:     "gain",
	Name:   "gain",
	Doc:    "Changes the level of both channels alike.",
	Source: "common practice, no source",
	Params: []dsp.Param{gainDB},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		return dsp.Gain(dsp.FromDB(s.Get(gainDB))), nil
	},
	Response: func(_, _ float64, s dsp.Setting) complex128 {
		return complex(dsp.FromDB(s.Get(gainDB)), 0)
	},
}
