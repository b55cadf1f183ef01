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
	param: bandGain, key: "errorDB", near: 1,
	say: dsp.FormatDB,
	off: over(decibels, "too much", "too little"),
}

// eqGain asks how far a band that is named was raised or cut.
//
// The ladder is the smaller of two boosts, as for EQ band; the larger is twice
// as large, and cuts are deeper by cutFactor.
func eqGain() drills.Tool {
	return drills.Tool{
		ID: "eq-gain", Title: "EQ gain", Type: "EQ",
		Doc:        "Hear how far a band that is named was raised or cut.",
		Source:     bandSource,
		Confusable: []string{"eq-width"},
		Error:      gainAnswer.key, Unit: "dB",
		Level: dsp.Param{ID: "boostDB", Name: "smaller boost", Unit: "dB", Min: 1.5, Max: 6, Neutral: 4.5, Scale: dsp.Log},
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
			return s.With(bandGain.ID, drawGain(d)), nil
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

// gainSizes are a large and a small cut, and a small and a large boost, to
// half a dB.
func gainSizes(boostDB float64) []float64 {
	half := func(db float64) float64 { return math.Round(db*2) / 2 }
	return []float64{-half(2 * cutFactor * boostDB), -half(cutFactor * boostDB), half(boostDB), half(2 * boostDB)}
}

// drawGain draws one of the sizes or, on the scale, any between the small and
// the large, as often down as up.
func drawGain(d drills.Draw) float64 {
	sizes := gainSizes(d.Level)
	if d.Rung.Surface != drills.Ruler {
		return sizes[d.R.IntN(len(sizes))]
	}
	way := 2 * d.R.IntN(2)
	return math.Round(10*between(d, bandGain, sizes[way], sizes[way+1])) / 10
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
