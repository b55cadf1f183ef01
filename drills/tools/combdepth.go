package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/fault"
)

var (
	combLevel = dsp.Param{ID: "levelDB", Name: "level of the copy", Unit: "dB", Min: -20, Max: 0, Neutral: -20}
	combLate  = dsp.Param{ID: "delayMS", Name: "delay of the copy", Unit: "ms", Min: 0.1, Max: 15, Neutral: 1, Scale: dsp.Log}
)

var combAnswer = scale{
	param: combLevel, key: "errorDB", near: 3,
	say: decibels,
	off: over(decibels, "too loud", "too soft"),
}

// combDepth asks how loud the copy is that makes a comb of a sound.
//
// The ladder is how far apart the answers lie; the softest is as soft as a copy
// may be and still be heard: −13 dB of a piano, −18 dB of a snare, −16 to
// −22 dB of speech, S. Brunner, H.-J. Maempel, S. Weinzierl, AES 122nd
// Convention (2007), as quoted.
func combDepth() drills.Tool {
	return drills.Tool{
		ID: "comb-depth", Title: "Depth of a comb", Type: "phase",
		Doc:        "Hear how loud the late copy is that colours a sound.",
		Source:     "copies are heard down to −13 to −22 dB: Brunner, Maempel & Weinzierl, AES 122nd Convention (2007), as quoted",
		Confusable: []string{"mic-delay", "comb"},
		Error:      combAnswer.key, Unit: "dB",
		Level:     dsp.Param{ID: "apartDB", Name: "from answer to answer", Unit: "dB", Min: 2, Max: 7, Neutral: 6, Scale: dsp.Log},
		OwnLadder: true,
		Near:      func(apartDB float64) float64 { return apartDB / 2 },
		Rungs: []drills.Rung{
			{ID: "three", Title: "deep, middling, shallow", Surface: drills.Cards},
			{ID: "free", Title: "level of the copy", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{combLevel, combLate},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := dsp.Setting{combLate.ID: between(d, combLate, 0.5, 5), combLevel.ID: copiesDB(d.Level)[d.R.IntN(3)]}
			if d.Rung.Surface == drills.Ruler {
				s[combLevel.ID] = between(d, combLevel, -16, 0)
			}
			return s, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(combLevel, decibels, copiesDB(d.Level)...), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := fault.Comb.New(c.Loop.RateHz, dsp.Setting{"levelDB": s.Get(combLevel), "delayMS": s.Get(combLate)})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "How loud is the late copy of " + it(d) + ", under the sound itself?"
		},
		Read: combAnswer.Read, Grade: combAnswer.Grade, Tell: combAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			if truth.Get(combLate) < 1.5 {
				return "under 1.5 ms"
			}
			return "1.5 ms and more"
		},
	}
}

// copiesDB are a loud copy, a softer and a soft one.
func copiesDB(apartDB float64) []float64 { return []float64{-1, -1 - apartDB, -1 - 2*apartDB} }
