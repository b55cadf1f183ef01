package skill_test

import (
	"testing"

	"strop/drills/skill"
)

// The run in the tests of PsychoPy's QuestHandler (range 100, grain .01,
// quantile placement), reproduced independently; the standard deviation was
// computed.
func TestQuestAgainstPsychoPy(t *testing.T) {
	q := skill.NewQuest(skill.QuestConfig{Guess: 50, Deviation: 50, Range: 100, Grain: .01, Slope: 3.5, Chance: .5, Lapse: .01, Share: .82})
	answers := "CCWWCCWWCC"
	for i, want := range []float64{50, 45.139710, 37.291087, 58.297413, 80.182967, 75.295251, 71.576272, 79.881680, 90.712313, 88.265809} {
		if i > 0 { // the first trial of the run stands at the guess
			within(t, "level", q.Level(), want, 1e-5)
		}
		q.UpdateAt(want, answers[i] == 'C')
	}
	within(t, "last quantile", q.Level(), 86.384903, 1e-5)
	within(t, "mean", q.Threshold().Mean(), 86.077217, 1e-5)
	within(t, "standard deviation", q.Threshold().SD(), 5.1840, 1e-4)
	mode, best := 0.0, 0.0
	for i, m := range q.Threshold().Mass {
		if m > best {
			mode, best = q.Threshold().Values[i], m
		}
	}
	within(t, "mode", mode, 80.11, 1e-9)
}
