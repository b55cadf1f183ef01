package tools

import (
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// tailLost is how much of each stroke's tail a gate takes.
var tailLost = dsp.Param{ID: "tailMS", Name: "tail lost", Unit: "ms", Min: 0, Max: 1000, Neutral: 0}

var tailLadder = dsp.Param{ID: "tailMS", Name: "tail lost of each stroke", Unit: "ms", Min: 3, Max: 200, Neutral: 120, Scale: dsp.Log}

var gateThreshold = dsp.Param{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -80, Max: 0, Neutral: -80}

// gateDrill asks whether a gate closes too early and, on a scale, how much of
// each stroke's tail is lost: as measured, on average.
func gateDrill() drills.Tool {
	say := unit(0, "ms")
	answer := scale{param: tailLost, key: "errorMS", near: 40, say: say, off: over(say, "too much", "too little")}
	return drills.Tool{
		ID: "gate-early", Title: "Gate closing too early", Type: "dynamics",
		Doc:        "Hear that a gate cuts off the tails of a stem, and by how many ms.",
		Source:     "common practice, no source",
		Confusable: []string{"comp-release"},
		Error:      answer.key, Unit: "ms", NothingShare: halfNothing, Brief: true,
		Level: tailLadder,
		Near:  within(40),
		Rungs: []drills.Rung{
			{ID: "there", Title: "too early or not", Surface: drills.Cards},
			{ID: "free", Title: "by how many ms", Surface: drills.Ruler},
		},
		Params: []dsp.Param{tailLost},
		Fit:    drills.Fit{Stems: true, LeastOnsetsPerS: 0.5, Roles: gated},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			ms := d.Level
			if d.Rung.Surface == drills.Ruler {
				ms = upTo(d, tailLadder, 2)
			}
			return dsp.Setting{tailLost.ID: ms}, nil
		},
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return []drills.Choice{{Label: "too early", Guess: dsp.Setting{tailLost.ID: d.Level}}}, nil
		},
		Change: changeGate,
		Measure: func(m drills.Made) (dsp.Setting, error) {
			return near(m.Setting, tailLost, lostMS(m.Before, remade(m), m.RateHz)/strokesOf(m.Clip, m.On), 0.35)
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Ruler {
				return "How much of each tail of " + it(d) + " does the gate take?"
			}
			return "Does a gate on " + it(d) + " close too early?"
		},
		Read: answer.Read, Grade: answer.Grade, Tell: answer.Tell,
		Region: anywhere,
	}
}

// gated are the stems that are gated.
var gated = []drills.Role{drills.Kick, drills.Snare, drills.Tom, drills.Percussion, drills.DrumMachine, drills.Drums, drills.LeadVocal, drills.BackingVocal, drills.Speech}

// changeGate is a gate with the threshold at which so much is lost.
func changeGate(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	after := make([]dsp.Frame, len(frames))
	strokes, rateHz := strokesOf(c, on), c.Loop.RateHz
	p, err := solved(gateThreshold.Min, gateThreshold.Max, s.Get(tailLost), 0.05*s.Get(tailLost),
		func(thresholdDB float64) (dsp.Processor, error) {
			return dynamics.Gate.New(rateHz, dsp.Setting{gateThreshold.ID: thresholdDB, "holdMS": 15, "releaseMS": 15, "attackMS": 0.3, "rangeDB": 12})
		},
		func(p dsp.Processor) float64 {
			warm(p, frames, after)
			return lostMS(frames, after, rateHz) / strokes
		})
	return drills.OnStem(on, p), err
}

// strokesOf is how many notes or strokes a stem has in the loop, 1 at least.
func strokesOf(c drills.Clip, on int) float64 {
	if s := c.Stem(on); s != nil {
		return math.Max(1, s.Traits.OnsetsPerS*float64(c.Loop.Frames)/c.Loop.RateHz)
	}
	return 1
}

// Lost is what lay within 40 dB of the loudest and is 10 dB down, by blocks of
// 5 ms. Common practice, no source.
const (
	lostBlockS = 0.005
	lostSpanDB = 40.0
	lostDB     = 10.0
)

// lostMS is for how long, in all, something was to be heard and is gone.
func lostMS(before, after []dsp.Frame, rateHz float64) float64 {
	b, a := blockPowers(before, rateHz, lostBlockS), blockPowers(after, rateHz, lostBlockS)
	least, ratio := slices.Max(b)*dsp.FromDB(-2*lostSpanDB), dsp.FromDB(-2*lostDB)
	n := 0
	for i, power := range b {
		if power > least && a[i] < ratio*power {
			n++
		}
	}
	return float64(n) * lostBlockS * 1000
}
