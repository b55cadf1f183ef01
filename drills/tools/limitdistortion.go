package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// limiterDrill asks whether a mix is driven into a fast limiter, and how far
// under the sound what it adds then lies, as measured.
//
// The ladder is that of saturation: no published threshold was found.
func limiterDrill() drills.Tool {
	return drills.Tool{
		ID: "limiter-distortion", Title: "Limiter distortion", Type: "dynamics",
		Doc:        "Hear what a limiter that is driven hard adds to a mix, at equal loudness.",
		Source:     noPublished,
		Confusable: []string{"sat-amount", "comp-over"},
		Error:      distortionAnswer.key, Unit: "dB", NothingShare: halfNothing, Brief: true,
		Level: limiterLadder,
		Rungs: []drills.Rung{
			{ID: "there", Title: "driven or not", Surface: drills.Cards},
			{ID: "free", Title: "in dB under the sound", Surface: drills.Ruler},
		},
		Params: []dsp.Param{distortionDB},
		Fit:    drills.Fit{Mix: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			db := d.Level
			if d.Rung.Surface == drills.Ruler {
				db = between(d, distortionDB, max(db-5, limiterLadder.Min), db)
			}
			return dsp.Setting{distortionDB.ID: db}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return []drills.Choice{{Label: "driven", Guess: dsp.Setting{distortionDB.ID: d.Level}}}, nil
		},
		Change: changeLimit,
		Measure: func(m drills.Made) (dsp.Setting, error) {
			return near(m.Setting, distortionDB, residueDB(m.Before, m.After), 0.2)
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Ruler {
				return "How far under the sound is what the limiter adds?"
			}
			return "Is the mix driven into a limiter?"
		},
		Read: distortionAnswer.Read, Grade: distortionAnswer.Grade, Tell: distortionAnswer.Tell,
		Region: anywhere,
	}
}

var limiterLadder = dsp.Param{ID: "distortionDB", Name: "distortion under the sound", Unit: "dB", Min: -28, Max: -8, Neutral: -12}

// changeLimit is a limiter with the gain before it at which it adds so much,
// and as much loss after it. The loudest second tells.
func changeLimit(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	frames = loudestPart(frames, int(c.Loop.RateHz))
	after := make([]dsp.Frame, len(frames))
	p, err := solved(-20, 50, s.Get(distortionDB), 0.3,
		func(driveDB float64) (dsp.Processor, error) { return drivenLimiter(c.Loop.RateHz, driveDB) },
		func(p dsp.Processor) float64 {
			copy(after, frames)
			p.Process(after)
			return residueDB(frames, after[dsp.DelayFrames(p):])
		})
	return drills.OnStem(on, p), err
}

func drivenLimiter(rateHz, driveDB float64) (dsp.Processor, error) {
	limiter, err := dynamics.Limiter.New(rateHz, dsp.Setting{"ceilingDBTP": -1, "lookaheadMS": 0.5, "releaseMS": 10})
	return dsp.Chain{dsp.Gain(dsp.FromDB(driveDB)), limiter, dsp.Gain(dsp.FromDB(-driveDB))}, err
}
