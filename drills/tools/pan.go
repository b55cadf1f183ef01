package tools

import (
	"math"
	"strings"

	"strop/drills"
	"strop/dsp"
)

var (
	panDeg  = dsp.Param{ID: "angleDeg", Name: "direction", Unit: "°", Min: -30, Max: 30, Neutral: 0}
	panFrom = dsp.Param{ID: "fromDeg", Name: "direction before", Unit: "°", Min: -30, Max: 30, Neutral: 0}
)

// degrees are told whole, without a side.
func degrees(v float64) string { return unit(0, "")(math.Abs(v)) + "°" }

// direction says where a source stands.
func direction(deg float64) string {
	switch {
	case math.Abs(deg) < 0.5:
		return "the centre"
	case deg < 0:
		return degrees(deg) + " left"
	}
	return degrees(deg) + " right"
}

var panAnswer = scale{
	param: panDeg, key: "errorDeg", near: 4,
	say: direction,
	off: over(degrees, "too far right", "too far left"),
}

// panSource is where the least movement that is heard comes from.
const panSource = "minimum audible angle, 1° in front: A. W. Mills, JASA 30 (1958); 1° is 0.525 dB from left to right by the tangent law"

// pan asks which way a stem was moved and, on the harder way to answer, where
// it stands now: in degrees between loudspeakers at ±30°, by the tangent law.
//
// The ladder is how far it moved. The least angle that is heard is 1°; in a
// mix it takes more: 2° are twice that.
func pan() drills.Tool {
	return drills.Tool{
		ID: "pan", Title: "Pan position", Type: "position",
		Doc:        "Hear where a stem stands between left and right.",
		Source:     panSource,
		Confusable: []string{"balance"},
		Error:      panAnswer.key, Unit: "°",
		Floor: drills.AtThreshold,
		Near:  within(panAnswer.near),
		Level: dsp.Param{ID: "moveDeg", Name: "movement", Unit: "°", Min: 2, Max: 15, Neutral: 10, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "way", Title: "left or right", Surface: drills.Cards},
			{ID: "arc", Title: "where it stands", Surface: drills.Arc},
		},
		Params:       []dsp.Param{panDeg, panFrom},
		Fit:          drills.Fit{Stems: true},
		NothingShare: usualNothing,
		Ask:          askPan,
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface != drills.Cards {
				return nil, nil
			}
			from := asked.Get(panFrom)
			return []drills.Choice{
				{Label: "left", Guess: dsp.Setting{panDeg.ID: from - d.Level}},
				{Label: "right", Guess: dsp.Setting{panDeg.ID: from + d.Level}},
			}, nil
		},
		Change: changePan,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Cards {
				return "Which way was " + it(d) + " moved?"
			}
			return "Where does " + it(d) + " stand now?"
		},
		Read: readDirection, Grade: panAnswer.Grade, Tell: panAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			switch deg := truth.Get(panDeg); {
			case deg < -10:
				return "left"
			case deg > 10:
				return "right"
			}
			return "centre"
		},
	}
}

// askPan moves a stem by the level or, where its place is asked, by at least
// as much. Where it has no room on one side, that would tell the way.
func askPan(d drills.Draw) (dsp.Setting, error) {
	at, err := pointOf(d.Clip, d.On)
	if err != nil {
		return nil, err
	}
	from := degOf(at)
	to := either(d, from-d.Level, from+d.Level)
	if d.Rung.Surface == drills.Arc {
		for to = between(d, panDeg, -30, 30); math.Abs(to-from) < d.Level; {
			to = between(d, panDeg, -30, 30)
		}
	} else if math.Abs(from)+d.Level > 30 {
		return nil, errNoRoom(d)
	}
	return dsp.Setting{panDeg.ID: to, panFrom.ID: from}, nil
}

// readDirection takes a side for a sign: "12 left", "R 10", "centre".
func readDirection(r drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
	if _, ok := chosen(r, text); ok || len(r.Choices) > 0 {
		return panAnswer.Read(r, asked, text)
	}
	sign, number := "", strings.ToLower(strings.TrimSpace(text))
	for _, side := range []string{"left", "right", "l", "r"} {
		rest, ok := strings.CutSuffix(number, side)
		if !ok {
			rest, ok = strings.CutPrefix(number, side)
		}
		if ok {
			number = strings.TrimSpace(rest)
			if side[0] == 'l' {
				sign = "-"
			}
			break
		}
	}
	if number == "centre" || number == "center" || number == "c" {
		number = "0"
	}
	return panAnswer.Read(r, asked, sign+number)
}

func changePan(_ drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	return drills.OnStem(on, turnedBy(planeRad(s.Get(panDeg))-planeRad(s.Get(panFrom)))), nil
}
