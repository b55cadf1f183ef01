package practice

import (
	"math/rand/v2"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// Known is what is known of one skill.
type Known struct {
	Skill     Skill
	Trials    int // in which something was changed
	Right     int
	Last      time.Time         // of the last answer
	Probes    int               // answered without being told, since the last time it was taught
	Passed    int               // reviews that went well, in a row
	Confused  map[string]int    // answers by the region they named, where they were wrong
	Predicted skill.Calibration // what was predicted of answers, and what came

	axis    axis
	chance  float64 // of a guess
	trainer *skill.Trainer
	loops   map[loopKey]*skill.Material
	easy    share   // of trials that only a lapse misses
	review  share   // of the probes of the review that is under way
	guessDB float64 // where the threshold was thought to lie
	fresh   int     // trials from easy to hard
	told    evidence
}

// share is right answers out of some.
type share struct{ Right, Of int }

func (s *share) add(right bool) {
	s.Of++
	if right {
		s.Right++
	}
}

// unknown is a skill of which nothing is known but where its threshold is
// thought to lie. fresh is over how many trials it goes from easy to hard.
func unknown(s Skill, t drills.Tool, chance, guessDB float64, fresh int, grids grids) *Known {
	a := axisOf(t)
	target := skill.ManyChoiceTarget
	if chance >= 0.4 {
		target = skill.TwoChoiceTarget
	}
	return &Known{
		Skill: s, axis: a, chance: chance, guessDB: guessDB, fresh: fresh, Confused: map[string]int{}, loops: map[loopKey]*skill.Material{},
		trainer: skill.NewTrainer(skill.TrainerConfig{
			Posterior: skill.DefaultPrior(grids.of(a.scale, chance), guessDB), Rand: rand.New(rand.NewPCG(s.seed(), 0)),
			Target: target, JitterDB: skill.DefaultJitterDB, Fresh: fresh, Catch: skill.DefaultCatch, Drift: skill.DefaultDrift,
		}),
	}
}

// underStart is how far under the first trial of a newcomer the threshold is
// thought to lie: so far that the trial is nearly always right.
const underStart = 8.0

// grids are shared by skills whose ladders are as long and whose chance is the
// same.
type grids map[gridKey]*skill.Grid

type gridKey struct {
	scale  skill.Scale
	chance float64
}

func (g grids) of(s skill.Scale, chance float64) *skill.Grid {
	key := gridKey{s, chance}
	if g[key] == nil {
		g[key] = s.Grid(chance)
	}
	return g[key]
}

// learn takes an answer to a trial in which something was changed.
func (k *Known) learn(t *drills.Tool, r *drills.Record) {
	k.rest(r.At)
	dB := k.axis.dB(*t, r.Trial)
	k.Trials++
	if r.Score.Right {
		k.Right++
	} else if len(r.Answer.Guess) > 0 {
		k.Confused[t.Region(r.Answer.Guess)]++
	} else {
		k.Confused[nothingHeard]++
	}
	if p := r.Trial.Chance; p > 0 {
		k.Predicted.Add(skill.Prediction{Share: p, Right: r.Score.Right})
	}
	if r.Trial.Kind == drills.Easy {
		k.easy.add(r.Score.Right)
	}
	k.reviewed(r)
	loop := k.loop(keyOf(r.Trial.Loop))
	offset := loop.OffsetDB()
	loop.Update(dB, r.Score.Right, k.trainer.Posterior().MeanTriple())
	k.trainer.UpdateAt(dB-offset, r.Trial.Chance, r.Score.Right)
	k.told.add(t, r, dB-offset)
	k.Last = r.At
}

// nothingHeard stands among the answers for "nothing was changed".
const nothingHeard = "nothing"

// reviewed keeps account of probes: a review goes well where at least as many
// are right as were aimed at.
func (k *Known) reviewed(r *drills.Record) {
	switch {
	case r.Trial.Kind == drills.Probe:
		k.Probes++
		if k.review.Of == 0 {
			k.told.Gap = gapOf(wholeDays(k.Last, r.At))
		}
		k.review.add(r.Score.Right)
		k.told.Kept[k.told.Gap].add(r.Score.Right)
	case k.review.Of > 0:
		if float64(k.review.Right) >= reviewPassed*float64(k.review.Of) {
			k.Passed++
		} else {
			k.Passed = 0
		}
		k.review, k.Probes = share{}, 0
	}
}

// reviewPassed is the share of probes that have to be right. Ours, no source.
const reviewPassed = 0.67

// rest lets what is known age until a moment.
func (k *Known) rest(until time.Time) {
	if days := wholeDays(k.Last, until); days > 0 {
		k.trainer.Rest(skill.DefaultForgetting, days)
	}
}

// wholeDays lie between two moments, 0 where the first never was.
func wholeDays(from, to time.Time) float64 {
	if from.IsZero() || !to.After(from) {
		return 0
	}
	return float64(int(to.Sub(from).Hours() / 24))
}

func (k *Known) loop(key loopKey) *skill.Material {
	loop := k.loops[key]
	if loop == nil {
		loop = skill.NewMaterial(k.chance, skill.DefaultMaterialSpreadDB)
		k.loops[key] = loop
	}
	return loop
}

// ThresholdDB is what is known of the threshold, in dB on the skill's axis.
func (k *Known) ThresholdDB() skill.Marginal { return k.trainer.Posterior().Threshold() }

// Due reports whether a review is due at a moment: after the gap that the
// reviews so far have earned, or sooner where it is no longer likely that the
// skill still meets its standard.
func (k *Known) Due(now time.Time) bool {
	return k.Trials >= skill.DefaultFresh && (k.overdueDays(now) >= 0 || k.Holds(now) < reviewFloor)
}

// The standard of a skill is a little over the threshold that it had when it
// was last practised; a review is due when the chance that it still holds has
// fallen under reviewFloor. Both are ours, after the choice of 0.85 to 0.9 for
// recall in spaced practice; no source for ears.
const (
	standardOverDB = 4.0
	reviewFloor    = 0.85
)

// Holds is the predicted chance that a skill still meets its standard at a
// moment; 1 on the day on which it was practised.
func (k *Known) Holds(now time.Time) float64 {
	days := wholeDays(k.Last, now)
	if days == 0 {
		return 1
	}
	p := k.trainer.Posterior()
	return p.Holds(skill.DefaultForgetting, p.Threshold().Mean()+standardOverDB, days)
}

// overdueDays is how many days a review is late; below 0 it is not yet due.
func (k *Known) overdueDays(now time.Time) float64 {
	return wholeDays(k.Last, now) - float64(skill.ReviewGap(k.Passed))
}
