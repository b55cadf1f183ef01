package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
)

var widthAnswer = scale{
	param: bandQ, key: errorOct, near: 0.75, apart: dsp.Octaves,
	say: func(q float64) string { return "Q " + unit(1, "")(q) },
	off: over(func(oct float64) string { return unit(1, "times")(math.Exp2(oct)) }, "too narrow", "too wide"),
}

// eqWidth asks how narrow a boost is, its place being named.
//
// The ladder is how far the three answers lie apart, as a ratio of Q. That a
// wide resonance is heard at a third of the size of a narrow one is published
// (Toole & Olive 1988); the least difference of Q that is heard is not.
func eqWidth() drills.Tool {
	return drills.Tool{
		ID: "eq-width", Title: "EQ width", Type: "EQ",
		Doc:        "Hear how wide or narrow a boost is.",
		Source:     noPublished,
		Confusable: []string{"eq-gain"},
		Error:      widthAnswer.key, Unit: "oct",
		OwnLadder: true,
		Near:      func(ratio float64) float64 { return math.Log2(ratio) / 2 },
		Level:     dsp.Param{ID: "ratio", Name: "ratio of Q from answer to answer", Unit: ":1", Min: 1.7, Max: 4, Neutral: 3.2, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "three", Title: "wide, middling, narrow", Surface: drills.Cards},
			{ID: "free", Title: "as Q", Surface: drills.Ruler},
		},
		Params: []dsp.Param{bandQ, bandHz, bandGain},
		Fit:    drills.Fit{Mix: true, Stems: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			q := widths(d.Level)[d.R.IntN(3)]
			if d.Rung.Surface == drills.Ruler {
				q = between(d, bandQ, 0.5, 10)
			}
			s, err := bandPlace(d, octaveQ)
			if err != nil {
				return nil, err
			}
			return dsp.Setting{bandHz.ID: s.Get(bandHz), bandQ.ID: q, bandGain.ID: 9}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(bandQ, widthAnswer.say, widths(d.Level)...), nil
		},
		Change: changeBand,
		Question: func(d drills.Draw, asked dsp.Setting) string {
			return "How narrow is the boost at " + bandName(asked) + on(d) + "?"
		},
		Read: widthAnswer.Read, Grade: widthAnswer.Grade, Tell: widthAnswer.Tell,
		Region: bandRegion,
	}
}

// widths are three values of Q so many times apart, rounded to a tenth.
func widths(ratio float64) []float64 {
	tenth := func(q float64) float64 { return math.Round(10*q) / 10 }
	return []float64{tenth(1.8 / ratio), 1.8, tenth(1.8 * ratio)}
}
