package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
)

// panTurn is a way of the pan knob: 100 % from the centre to a loudspeaker,
// 45° of the plane of left and right at constant power.
var panTurn = dsp.Param{ID: "panPct", Name: "pan", Unit: "%", Min: -100, Max: 100, Neutral: 0}

const radPerPct = math.Pi / 4 / 100

var panTurnAnswer = scale{
	param: panTurn, key: "errorPct", near: 10,
	say: func(pct float64) string {
		switch text := unit(0, "%")(math.Abs(pct)); {
		case math.Abs(pct) < 0.5:
			return "no way at all"
		case pct < 0:
			return text + " to the left"
		default:
			return text + " to the right"
		}
	},
	off: over(func(pct float64) string { return unit(0, "%")(math.Abs(pct)) }, "too far right", "too far left"),
}

// makePan has the engineer bring a stem back to where it stood with a pan knob.
// The knob says by how much it is moved; at a loudspeaker it ends.
//
// The ladder is the hidden move. Near the centre 8 % are 2° between
// loudspeakers at ±30°, by the tangent law, computed; the least angle that is
// heard is 1°.
func makePan() drills.Tool {
	return drills.Tool{
		ID: "make-pan", Title: "Undo with a pan knob", Type: "position",
		Doc:        "Bring a stem back to where it stood: say the move first, then make it.",
		Source:     panSource,
		Confusable: []string{"pan"},
		Error:      panTurnAnswer.key, Unit: "%",
		Floor:  drills.AtThreshold,
		Near:   within(panTurnAnswer.near),
		Level:  dsp.Param{ID: "hiddenPct", Name: "hidden move", Unit: "%", Min: 8, Max: 60, Neutral: 40, Scale: dsp.Log},
		Rungs:  []drills.Rung{{ID: "turn", Title: "a pan knob", Surface: drills.Knobs}},
		Params: []dsp.Param{panTurn},
		Fit:    drills.Fit{Stems: true},
		Ask:    askMakePan,
		Change: func(_ drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return drills.OnStem(on, turnedBy(-s.Get(panTurn)*radPerPct)), nil
		},
		Mend:     mendPan,
		Question: bringBack,
		Read:     readKnobs(panTurn),
		Grade:    panTurnAnswer.Grade, Tell: tellUndone(panTurnAnswer),
		Region: upOrDown(panTurn, "too far left", "too far right"),
	}
}

// askMakePan hides a move to a side that has room for it.
func askMakePan(d drills.Draw) (dsp.Setting, error) {
	at, err := pointOf(d.Clip, d.On)
	if err != nil {
		return nil, err
	}
	move := either(d, d.Level, -d.Level)
	if to := at - move*radPerPct; to < 0 || to > math.Pi/2 {
		move = -move
	}
	if to := at - move*radPerPct; to < 0 || to > math.Pi/2 {
		return nil, errNoRoom(d)
	}
	return dsp.Setting{panTurn.ID: move}, nil
}

// mendPan is the hidden move and the listener's together, as far as the
// loudspeakers.
func mendPan(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
	at, err := pointOf(c, on)
	if err != nil {
		return nil, err
	}
	to := limited(at+(guess.Get(panTurn)-truth.Get(panTurn))*radPerPct, 0, math.Pi/2)
	return drills.OnStem(on, turnedBy(to-at)), nil
}
