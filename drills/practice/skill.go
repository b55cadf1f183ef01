// Package practice knows what a listener can do, from records alone, and plans
// what is asked next. Its arithmetic is that of drills/skill.
//
// Everything is recomputed by replay: the same records give the same state,
// and with the same seed the same plan, on every machine.
package practice

import (
	"fmt"
	"hash/fnv"
	"math"

	"strop/drills"
	"strop/drills/skill"
	"strop/dsp"
)

// Skill is what is estimated: a drill answered in one way, in one part of its
// range, under one condition. Skills of different conditions are never pooled.
type Skill struct {
	Tool      string           `json:"tool"`
	Rung      string           `json:"rung"`
	Region    string           `json:"region"` // of the tool's range; "" where none is wanted
	Condition drills.Condition `json:"condition"`
	OnStem    bool             `json:"onStem"` // the change is made on one stem, not on the mix
}

// Of is the skill that a trial asks for.
func Of(t drills.Tool, trial drills.Trial) Skill {
	return Skill{Tool: trial.Tool, Rung: trial.Rung, Region: t.Region(trial.Asked), Condition: trial.Condition, OnStem: trial.Stem > 0}
}

// anywhere is the skill with its region left open.
func (s Skill) anywhere() Skill { s.Region = ""; return s }

// seed draws the same jitter for a skill on every machine.
func (s Skill) seed() uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s\x00%s\x00%s\x00%s\x00%s\x00%t", s.Tool, s.Rung, s.Region, s.Condition.Transducer, s.Condition.Heard, s.OnStem)
	return h.Sum64()
}

// axis is how difficult trials of a drill are laid out in dB above a floor:
// by what can be heard of them on their loop or, where the drill's ladder is
// another thing, by that.
type axis struct {
	scale skill.Scale
	own   bool
}

// The audibility that practice runs over, in dB of excitation: from half of
// what is usually heard to far more than enough. Ours, no source.
const leastAudibleDB, mostAudibleDB = 0.5, 24.0

func axisOf(t drills.Tool) axis {
	if !t.OwnLadder {
		return axis{scale: skill.Scale{Min: leastAudibleDB, Max: mostAudibleDB}}
	}
	p := t.Level
	return axis{own: true, scale: skill.Scale{Min: p.Min, Max: p.Max, Linear: p.Scale != dsp.Log}}
}

// dB is how easy a trial was. A trial of which no audibility was measured is
// taken for as audible as its place on the ladder says.
func (a axis) dB(t drills.Tool, trial drills.Trial) float64 {
	switch {
	case a.own:
		return a.scale.DB(trial.Level)
	case trial.AudibleDB > 0:
		return a.scale.DB(math.Max(trial.AudibleDB, leastAudibleDB/2))
	}
	return a.scale.DB(typicalAudibleDB(t.Level.Place(trial.Level)))
}

// typicalAudibleDB is about what a place on a ladder shows: 1 dB at the hard
// end, 12 at the easy one.
func typicalAudibleDB(place float64) float64 { return math.Pow(12, min(max(place, 0), 1)) }

// startDB is where a newcomer to a drill begins.
func (a axis) startDB(t drills.Tool) float64 {
	if a.own {
		return a.scale.DB(t.Level.Neutral)
	}
	return a.scale.DB(typicalAudibleDB(t.Level.Place(t.Level.Neutral)))
}
