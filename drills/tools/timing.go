package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/pitch"
)

// timeMS is how late, below 0 how early.
var timeMS = dsp.Param{ID: "shiftMS", Name: "late", Unit: "ms", Min: -120, Max: 120, Neutral: 0}

// timeLadder ends a little over what is heard as a difference, 2 to 3 ms, and
// well under what is heard as an order, 20 ms. Ensembles spread by 30 to
// 50 ms.
var timeLadder = dsp.Param{ID: "shiftMS", Name: "early or late", Unit: "ms", Min: 8, Max: 80, Neutral: 50, Scale: dsp.Log}

const timeSource = "asynchrony: a difference is heard from 2 to 3 ms, the order from about 20 ms: C. S. Watson (2004), after I. J. Hirsh (1959), as quoted"

var strikes = drills.Fit{Stems: true, LeastOnsetsPerS: 0.3}

var timeAnswer = scale{
	param: timeMS, key: "errorMS", near: 12,
	say: earlyOrLate,
	off: over(unit(0, "ms"), "too late", "too early"),
}

func earlyOrLate(ms float64) string {
	switch {
	case ms > 0:
		return unit(0, "ms late")(ms)
	case ms < 0:
		return unit(0, "ms early")(-ms)
	}
	return "in time"
}

func shiftedInTime(c drills.Clip, on int, ms float64) ([]drills.Insert, error) {
	if ms == 0 {
		return nil, nil
	}
	p, err := pitch.TimeShift.New(c.Loop.RateHz, dsp.Setting{"shiftMS": ms})
	return drills.OnStem(on, p), err
}

// timing asks whether a stem is early or late against the band, and by how
// much.
func timing() drills.Tool {
	return drills.Tool{
		ID: "time-ms", Title: "Early or late", Type: "timing",
		Doc:        "Hear whether one stem is early or late against the others, and by how much; an electronic arrangement forgives less than a band.",
		Source:     timeSource,
		Confusable: []string{"time-layer"},
		Error:      timeAnswer.key, Unit: "ms", Level: timeLadder, OwnLadder: true,
		Rungs: []drills.Rung{
			{ID: "way", Title: "early or late", Surface: drills.Cards},
			{ID: "free", Title: "by how many ms", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{timeMS},
		Fit:          strikes,
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			size := d.Level
			if d.Rung.Surface == drills.Ruler {
				size = math.Round(size * (1 + 0.5*d.R.Float64()))
			}
			return dsp.Setting{timeMS.ID: either(d, size, -size)}, nil
		},
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			size := math.Abs(asked.Get(timeMS))
			return []drills.Choice{
				{Label: "early", Guess: dsp.Setting{timeMS.ID: -size}}, {Label: "late", Guess: dsp.Setting{timeMS.ID: size}},
			}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return shiftedInTime(c, on, s.Get(timeMS))
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Ruler {
				return "By how much is " + it(d) + " early or late?"
			}
			return "Is " + it(d) + " early or late?"
		},
		Read: timeAnswer.Read, Grade: timeAnswer.Grade, Tell: timeAnswer.Tell,
		Region: upOrDown(timeMS, "late", "early"),
	}
}

// timeLayer asks which stem of a few is out of time.
func timeLayer() drills.Tool {
	fit := strikes
	fit.Among = true
	return drills.Tool{
		ID: "time-layer", Title: "Which layer is out of time", Type: "timing",
		Doc:        "Hear which layer of an arrangement is early or late.",
		Source:     timeSource,
		Confusable: []string{"time-ms"},
		Error:      wrong, Unit: "of 1", Level: timeLadder, OwnLadder: true,
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "five", Title: "one of five", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, timeMS},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{stemNumber.ID: float64(d.On), timeMS.ID: either(d, d.Level, -d.Level)}, among(d, fit, layers[d.Rung.ID])
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredOf(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) > 0 {
				on = int(s.Get(stemNumber))
			}
			return shiftedInTime(c, on, s.Get(timeMS))
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem is early or late?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}
