package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

// bandPlace draws where in the spectrum a peak filter stands, a third-octave
// mid-band frequency that what it is made on carries.
func bandPlace(d drills.Draw, q float64) (dsp.Setting, error) {
	for range 12 {
		freqHz := dsp.ThirdOctaveHz(5 + d.R.IntN(24))
		if carries(d, freqHz, eq.OctFromQ(q)) == nil {
			return dsp.Setting{bandHz.ID: freqHz, bandQ.ID: q}, nil
		}
	}
	return nil, carries(d, 1000, eq.OctFromQ(q))
}

var gainAnswer = scale{
	param: bandGain, key: "errorDB", near: 1.5,
	say: dsp.FormatDB,
	off: over(decibels, "too much", "too little"),
}

// eqGain asks how far a band that is named was raised or cut.
//
// The ladder is the boost, as for EQ band.
func eqGain() drills.Tool {
	return drills.Tool{
		ID: "eq-gain", Title: "EQ gain", Type: "EQ",
		Doc:        "Hear how far a band that is named was raised or cut.",
		Source:     bandSource,
		Confusable: []string{"eq-width"},
		Error:      gainAnswer.key, Unit: "dB",
		Level: bandLadder,
		Rungs: []drills.Rung{
			{ID: "four", Title: "much or little, up or down", Surface: drills.Cards},
			{ID: "free", Title: "in dB", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{bandGain, bandHz, bandQ},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s, err := bandPlace(d, octaveQ)
			if err != nil {
				return nil, err
			}
			sizes := gainSizes(d.Level)
			return s.With(bandGain.ID, sizes[d.R.IntN(len(sizes))]), nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(bandGain, dsp.FormatDB, gainSizes(d.Level)...), nil
		},
		Change: changeBand,
		Question: func(d drills.Draw, asked dsp.Setting) string {
			return "How far was " + bandName(asked) + of(d) + " raised or cut?"
		},
		Read: gainAnswer.Read, Grade: gainAnswer.Grade, Tell: gainAnswer.Tell,
		Region: bandRegion,
	}
}

// gainSizes are a large and a small cut and boost; a dip is harder to hear.
func gainSizes(level float64) []float64 {
	whole := func(db float64) float64 { return math.Round(db*2) / 2 }
	return []float64{-whole(cutFactor * level * 1.3), -whole(cutFactor * level * 0.6), whole(level * 0.7), whole(level * 1.4)}
}

// bandSource is where the hard end of what is heard of an EQ comes from.
const bandSource = "smallest amplitude heard in popular music at Q 1: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted"

// bandLadder is the boost of an EQ.
var bandLadder = dsp.Param{ID: "boostDB", Name: "boost", Unit: "dB", Min: 1.5, Max: 12, Neutral: 9, Scale: dsp.Log}

// eqWay asks whether an unnamed band was raised or cut.
func eqWay() drills.Tool {
	answer := cards{params: []dsp.Param{bandGain}, say: func(s dsp.Setting) string {
		if s.Get(bandGain) < 0 {
			return "cut"
		}
		return "raised"
	}}
	return drills.Tool{
		ID: "eq-way", Title: "Boost or cut", Type: "EQ",
		Doc:        "Hear whether a band was raised or cut, without being told which.",
		Source:     bandSource,
		Confusable: []string{"eq-gain"},
		Error:      wrong, Unit: "of 1", Level: bandLadder,
		Rungs:        []drills.Rung{{ID: "way", Title: "raised or cut", Surface: drills.Cards}},
		Params:       []dsp.Param{bandGain, bandHz, bandQ},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s, err := bandPlace(d, octaveQ)
			if err != nil {
				return nil, err
			}
			return s.With(bandGain.ID, either(d, d.Level, -cutFactor*d.Level)), nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return []drills.Choice{
				{Label: "raised", Guess: dsp.Setting{bandGain.ID: d.Level}},
				{Label: "cut", Guess: dsp.Setting{bandGain.ID: -cutFactor * d.Level}},
			}, nil
		},
		Change:   changeBand,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Was a band" + of(d) + " raised or cut?" },
		Read:     answer.Read, Grade: answer.Grade,
		Tell: func(r drills.Rung, truth, guess dsp.Setting) string {
			text := answer.Tell(r, truth, guess)
			if len(truth) == 0 {
				return text
			}
			return text[:len(text)-1] + ": " + bandSize(truth) + "."
		},
		Region: upOrDown(bandGain, "raised", "cut"),
	}
}
