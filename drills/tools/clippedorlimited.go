package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/saturation"
)

var (
	peakTakerNumber = dsp.Param{ID: "taker", Name: "what takes the peaks", Min: 1, Max: 2, Neutral: 1, Scale: dsp.Whole}
	peaksTaken      = dsp.Param{ID: "peaksDB", Name: "peaks taken down by", Unit: "dB", Min: 0, Max: 24, Neutral: 0}
)

// peakTakers are the answers: by what peaks are brought down.
var peakTakers = []struct {
	name string
	make func(c drills.Clip, on int, sizeDB float64) (dsp.Processor, error)
}{
	{"clipping", clippedBy},
	{"limiting", func(c drills.Clip, on int, sizeDB float64) (dsp.Processor, error) {
		return limitedBy(c, on, sizeDB, 60)
	}},
}

// clippedBy cuts the peaks of what a trial is made on off, sizeDB under the
// highest.
func clippedBy(c drills.Clip, on int, sizeDB float64) (dsp.Processor, error) {
	return saturation.HardClip.New(c.Loop.RateHz, dsp.Setting{"driveDB": limited(sizeDB-c.On(on).TruePeakDBTP, -59, 40)})
}

var peakTakerAnswer = cards{params: []dsp.Param{peakTakerNumber}, say: func(s dsp.Setting) string { return peakTakers[int(s.Get(peakTakerNumber))-1].name }}

// clippedOrLimited asks whether peaks were clipped or brought down by a
// limiter, as far in both cases.
//
// The ladder is by how much. No least difference was found.
func clippedOrLimited() drills.Tool {
	return drills.Tool{
		ID: "sat-clipping", Title: "Clipped or limited", Type: "saturation",
		Doc:    "Hear whether peaks were clipped or limited, as far in both cases, or left alone.",
		Source: noPublished, Confusable: []string{"limiter-distortion", "sat-kind"},
		Error: wrong, Unit: "of 1",
		Level: dsp.Param{ID: "peaksDB", Name: "peaks taken down by", Unit: "dB", Min: 5, Max: 18, Neutral: 14, Scale: dsp.Log},
		Rungs: []drills.Rung{{ID: "two", Title: "clipping or limiting", Surface: drills.Cards, Choices: []drills.Choice{
			{Label: peakTakers[0].name, Guess: dsp.Setting{peakTakerNumber.ID: 1}},
			{Label: peakTakers[1].name, Guess: dsp.Setting{peakTakerNumber.ID: 2}},
		}}},
		Params:       []dsp.Param{peakTakerNumber, peaksTaken},
		Fit:          drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.5},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{peakTakerNumber.ID: float64(1 + d.R.IntN(len(peakTakers))), peaksTaken.ID: d.Level}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := peakTakers[int(s.Get(peakTakerNumber))-1].make(c, on, s.Get(peaksTaken))
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "What took the peaks" + of(d) + " down?" },
		Read:     peakTakerAnswer.Read, Grade: peakTakerAnswer.Grade, Tell: peakTakerAnswer.Tell,
		Region: func(truth dsp.Setting) string { return peakTakerAnswer.say(truth) },
	}
}
