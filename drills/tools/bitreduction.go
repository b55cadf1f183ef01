package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/saturation"
)

// wordBits is how many bits are left.
var wordBits = dsp.Param{ID: "bits", Name: "bits", Min: 2, Max: 24, Neutral: 24, Scale: dsp.Whole}

var bitsAnswer = scale{
	param: wordBits, key: "errorBits", near: 1,
	say: unit(0, "bits"), off: over(unit(0, "bits"), "too many", "too few"),
}

// bitReduction asks how many bits a word was cut to, without dither.
//
// The ladder is the middle one of three answers: the more bits, the less is
// heard of it. 6.02 dB of noise a bit.
func bitReduction() drills.Tool {
	return drills.Tool{
		ID: "sat-bits", Title: "Bit reduction", Type: "saturation",
		Doc:    "Hear to how many bits the words were cut.",
		Source: noPublished, Confusable: []string{"sat-amount"},
		Error: bitsAnswer.key, Unit: "bits",
		Level: dsp.Param{ID: "missing", Name: "bits missing of 16, in the middle answer", Unit: "bits", Min: 7, Max: 11, Neutral: 10, Scale: dsp.Whole},
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "free", Title: "how many", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{wordBits},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			words := wordLengths(d.Level)
			bits := words[d.R.IntN(len(words))]
			if d.Rung.Surface == drills.Ruler {
				bits += float64(d.R.IntN(3) - 1)
			}
			return dsp.Setting{wordBits.ID: bits}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(wordBits, bitsAnswer.say, wordLengths(d.Level)...), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := saturation.BitDepth.New(c.Loop.RateHz, dsp.Setting{"bits": s.Get(wordBits)})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "To how many bits was " + it(d) + " cut?" },
		Read:     bitsAnswer.Read, Grade: bitsAnswer.Grade, Tell: bitsAnswer.Tell,
		Region: anywhere,
	}
}

// wordLengths are three answers, two bits apart.
func wordLengths(missing float64) []float64 {
	middle := 16 - math.Round(missing)
	return []float64{middle - 2, middle, middle + 2}
}
