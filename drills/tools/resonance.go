package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

// ringQ is a ring as narrow as a room mode or a drum's overtone: a boost a
// twelfth of an octave wide. From 1/Q = 2·sinh(ln2/2·BW), as octaveQ.
const ringQ = 17.3

var ringAnswer = scale{
	param: bandHz, key: errorOct, near: 1.0 / 6, apart: dsp.Octaves,
	say: dsp.FormatHz,
	off: over(dsp.OctavesInWords, "high", "low"),
}

// resonance asks where one stem rings.
//
// The ladder is the height of the ring. At Q 50 5 dB were needed, at Q 10 3:
// F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted. A shift of it is
// told apart long before it can be named, from 0.079·F/√Q or 2 % at this Q: J.
// P. Gagné & P. M. Zurek, JASA 83 (1988), abstract.
func resonance() drills.Tool {
	return drills.Tool{
		ID: "eq-resonance", Title: "Resonance", Type: "EQ",
		Doc:        "Find a narrow ring in one stem.",
		Source:     "smallest amplitude heard in popular music, 3 dB at Q 10 and 5 dB at Q 50: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted; shift of a resonance that is heard, 0.079·F/√Q: J. P. Gagné & P. M. Zurek, JASA 83 (1988), abstract",
		Confusable: []string{"eq-band"},
		Error:      errorOct, Unit: "oct",
		Level: dsp.Param{ID: "heightDB", Name: "height", Unit: "dB", Min: 4, Max: 20, Neutral: 15, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "four", Title: "one of four octaves", Surface: drills.Cards, Choices: steps(bandHz, nearNominal, 200, 500, 1250, 3150)},
			{ID: "free", Title: "any frequency", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{bandHz, bandGain, bandQ},
		Fit:          drills.Fit{Mix: true, Stems: true, LeastSustained: 0.2},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := dsp.Setting{bandHz.ID: between(d, bandHz, 150, 5000), bandGain.ID: d.Level, bandQ.ID: ringQ}
			if n := len(d.Rung.Choices); n > 0 {
				s[bandHz.ID] = d.Rung.Choices[d.R.IntN(n)].Guess.Get(bandHz)
			}
			return s, carries(d, s.Get(bandHz), eq.OctFromQ(ringQ))
		},
		Change:   changeBand,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Where does " + it(d) + " ring?" },
		Read:     ringAnswer.Read, Grade: ringAnswer.Grade, Tell: ringAnswer.Tell,
		Region: bandRegion,
	}
}
