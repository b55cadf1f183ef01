package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

var (
	micHow   = dsp.Param{ID: "how", Name: "what was done", Min: 1, Max: 3, Neutral: 1, Scale: dsp.Whole}
	micMoved = dsp.Param{ID: "delayMS", Name: "delay", Unit: "ms", Min: 0.1, Max: 20, Neutral: 1, Scale: dsp.Log}
)

// micHows are what can be wrong between two microphones. Numbers are kept in
// records: new ones come last.
var micHows = []string{"polarity turned over", "moved later", "turned down"}

// micDownDB is how far a microphone is turned down: the fullness goes, but no
// comb comes. Common practice, no source.
const micDownDB = -12

// micHowDrill asks what was done to one of two microphones on a source: the
// three sound alike, and are mended with different tools.
//
// The ladder is the delay of what was moved: the shorter it is, the more it is
// like the others. A comb is heard from 0.1 ms: S. Brunner, H.-J. Maempel,
// S. Weinzierl, AES 122nd Convention (2007), as quoted; where it is taken for
// something else: common practice, no source.
func micHowDrill() drills.Tool {
	answer := cards{params: []dsp.Param{micHow}, say: func(s dsp.Setting) string { return micHows[int(s.Get(micHow))-1] }}
	return drills.Tool{
		ID: "mic-how", Title: "Polarity, time or level", Type: "phase",
		Doc:        "Hear what was done to one of two microphones on a source: polarity turned over, moved later, or turned down.",
		Source:     "combs are heard from 0.1 ms: Brunner, Maempel & Weinzierl, AES 122nd Convention (2007), as quoted; down to 0.2 ms: common practice, no source",
		Confusable: []string{"mic-polarity", "mic-delay"},
		Error:      wrong, Unit: "of 1",
		Level:     dsp.Param{ID: "delayMS", Name: "delay of what is moved", Unit: "ms", Min: 0.2, Max: 8, Neutral: 5, Scale: dsp.Log},
		OwnLadder: true, Floor: drills.AtThreshold,
		Rungs: []drills.Rung{
			{ID: "two", Title: "polarity or time", Surface: drills.Cards, Choices: micChoices(1, 2)},
			{ID: "three", Title: "polarity, time or level", Surface: drills.Cards, Choices: micChoices(1, 2, 3)},
		},
		Params: []dsp.Param{micHow, micMoved},
		Fit:    drills.Fit{Stems: true, Pair: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			c := d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))]
			return dsp.Setting{micHow.ID: c.Guess.Get(micHow), micMoved.ID: d.Level}, nil
		},
		Change: changeMicHow,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "What was done to " + d.Where() + ", which stands with " + partnerOf(d) + "?"
		},
		Read: answer.Read, Grade: answer.Grade, Tell: answer.Tell,
		Region: func(truth dsp.Setting) string {
			if len(truth) == 0 {
				return ""
			}
			return answer.say(truth)
		},
	}
}

func micChoices(numbers ...int) (choices []drills.Choice) {
	for _, n := range numbers {
		choices = append(choices, drills.Choice{Label: micHows[n-1], Guess: dsp.Setting{micHow.ID: float64(n)}})
	}
	return choices
}

func changeMicHow(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	var p dsp.Processor = dsp.Gain(dsp.FromDB(micDownDB))
	var err error
	switch s.Get(micHow) {
	case 1:
		p, err = polarity(c.Loop.RateHz)
	case 2:
		p, err = stereo.Delay.New(c.Loop.RateHz, dsp.Setting{"delayMS": s.Get(micMoved), "left": 1, "right": 1})
	}
	return onOneOfTwo(c, on, p), err
}
