package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/pitch"
)

// timeMS is how late, below 0 how early.
var timeMS = dsp.Param{ID: "shiftMS", Name: "late", Unit: "ms", Min: -120, Max: 120, Neutral: 0}

// timeLadder ends a little over what is heard as a difference, 2 to 3 ms, and
// well under what is heard as an order, 20 ms. Ensembles spread by 30 to
// 50 ms.
var timeLadder = dsp.Param{ID: "shiftMS", Name: "early or late", Unit: "ms", Min: 5, Max: 80, Neutral: 50, Scale: dsp.Log}

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

// outOfTime is a stem that is early or late against the band.
var outOfTime = offDrill{
	kind: "timing", source: timeSource, answer: timeAnswer, ladder: timeLadder, fit: strikes,
	ways: [2]string{"late", "early"}, spread: 0.5, insert: shiftedInTime,
}

// timing asks whether a stem is early or late against the band, and by how
// much.
func timing() drills.Tool {
	return outOfTime.amount(drills.Tool{
		ID: "time-ms", Title: "Early or late", Confusable: []string{"time-layer", "time-grid"},
		Doc: "Hear whether one stem is early or late against the others, and by how much; an electronic arrangement forgives less than a band.",
	}, "early or late", "early or late")
}

// timeLayer asks which stem of a few is out of time.
func timeLayer() drills.Tool {
	return outOfTime.layer(drills.Tool{
		ID: "time-layer", Title: "Which layer is out of time", Confusable: []string{"time-ms"},
		Doc: "Hear which layer of an arrangement is early or late.",
	}, "Which stem is early or late?", "three", "five")
}
