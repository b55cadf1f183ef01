package stereo

import "strop/dsp"

var (
	polarityLeft  = dsp.Param{ID: "left", Name: "left channel inverted", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
	polarityRight = dsp.Param{ID: "right", Name: "right channel inverted", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
)

// Polarity inverts channels.
//
//	left   1 inverts the left channel     0 or 1; 0 does nothing, to the bit
//	right  1 inverts the right channel    0 or 1; 0 does nothing, to the bit
//
// No latency. Source: common practice, no source.
var Polarity = dsp.Spec{
	ID:     "polarity",
	Name:   "polarity",
	Doc:    "Inverts the left channel, the right one or both.",
	Source: "common practice, no source",
	Params: []dsp.Param{polarityLeft, polarityRight},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		return designPolarity(s), nil
	},
	Matrix: func(_, _ float64, s dsp.Setting) [2][2]complex128 { return designPolarity(s).matrix() },
}

func designPolarity(s dsp.Setting) gains {
	return gains{1 - 2*s.Get(polarityLeft), 1 - 2*s.Get(polarityRight)}
}
