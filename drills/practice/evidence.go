package practice

import (
	"math"

	"strop/drills"
)

// evidence is what a report of a skill is made of, beside what the next trial
// needs. Its fields are there to be kept in a snapshot.
type evidence struct {
	First, Latest []seen    // the first and the last blockTrials answers, oldest first
	Errors        []float64 // of the last errorsKept answers that have one, in the drill's unit
	LogRatio      float64   // sum of the logarithms of level over what was audible
	Ratios        int
	Kept          [len(gaps)]share // probes, by the days without practice before them
	Gap           int              // of the review that is under way
	TookS         float64          // of all answers together, each for at most mostTookS
}

// seen is an answer as a posterior learns from it.
type seen struct {
	DB    float64
	Right bool
}

const (
	// blockTrials is how many answers a threshold is measured from where two
	// measurements are compared: as many as drills/skill was tested with.
	blockTrials = 60
	errorsKept  = 100
	mostTookS   = 120 // longer is a listener who went away
)

// add takes an answer at a level of the skill's axis.
func (e *evidence) add(t *drills.Tool, r *drills.Record, dB float64) {
	answer := seen{dB, r.Score.Right}
	e.TookS += min(max(r.Answer.TookS, 0), mostTookS)
	if len(e.First) < blockTrials {
		e.First = append(e.First, answer)
	}
	e.Latest = appendKept(e.Latest, answer, blockTrials)
	if miss, there := r.Score.Errors[t.Error]; there && len(r.Answer.Guess) > 0 {
		e.Errors = appendKept(e.Errors, miss, errorsKept)
	}
	if r.Trial.AudibleDB > 0 && r.Trial.Level > 0 {
		e.LogRatio += math.Log(r.Trial.Level / r.Trial.AudibleDB)
		e.Ratios++
	}
}

// appendKept appends, and drops the oldest where there are more than most.
func appendKept[T any](all []T, v T, most int) []T {
	if len(all) < most {
		return append(all, v)
	}
	copy(all, all[1:])
	all[len(all)-1] = v
	return all
}

// levelPerDB is how much of the drill's ladder is audible by 1 dB of
// excitation, as it came out in the trials so far; false where none was
// measured.
func (e *evidence) levelPerDB() (ratio float64, known bool) {
	if e.Ratios == 0 {
		return 0, false
	}
	return math.Exp(e.LogRatio / float64(e.Ratios)), true
}

// gaps are the days without practice by which probes are sorted: up to each.
var gaps = [...]float64{3, 10, 30, math.Inf(1)}

func gapOf(days float64) int {
	for i, most := range gaps {
		if days <= most {
			return i
		}
	}
	return len(gaps) - 1
}
