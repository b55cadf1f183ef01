package tools_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills"
	"strop/drills/tools"
)

// Whoever knows the level of a drill, and not what is heard, gains nothing:
// at one level each answer offered is as often right. Judged by chi squared
// over the truths that are asked of one loop that carries everything.
func TestTruthsAreAsLikely(t *testing.T) {
	clip := pinkClip()
	for _, tool := range tools.All() {
		if _, err := tool.Fit.Targets(clip); err != nil {
			continue // no question for a mix of noise
		}
		for _, rung := range tool.Rungs {
			if rung.Surface != drills.Cards {
				continue
			}
			for _, place := range []float64{0, 0.5, 1} {
				counts := rightAnswers(t, tool, rung, clip, place)
				if worst := chiSquared(counts); worst > 15 {
					t.Errorf("%s, %s, at %.1f of the ladder: answers are right %v times (chi squared a degree %.1f)", tool.ID, rung.ID, place, counts, worst)
				}
			}
		}
	}
}

// rightAnswers counts how often each answer is right.
func rightAnswers(t *testing.T, tool drills.Tool, rung drills.Rung, clip drills.Clip, place float64) []int {
	const trials = 240
	var counts []int
	for seed := range uint64(trials) {
		d := drills.Draw{R: rand.New(rand.NewPCG(seed, 1)), Rung: rung, Level: tool.Level.At(place), Clip: clip}
		asked, err := tool.Ask(d)
		if err != nil {
			continue
		}
		if tool.Choices != nil {
			choices, err := tool.Choices(d, asked)
			if err != nil {
				continue
			}
			if choices != nil {
				d.Rung.Choices = choices
			}
		}
		if counts == nil {
			counts = make([]int, len(d.Rung.Choices))
		}
		for i, c := range d.Rung.Choices {
			guess, err := tool.Read(d.Rung, asked, c.Label)
			if err != nil {
				t.Fatalf("%s: %v", tool.ID, err)
			}
			if tool.Grade(d.Rung, asked, guess).Right {
				counts[i]++
			}
		}
	}
	return counts
}

// chiSquared is that of counts that ought to be alike, a degree of freedom.
func chiSquared(counts []int) float64 {
	if len(counts) < 2 {
		return 0
	}
	sum := 0
	for _, n := range counts {
		sum += n
	}
	want, x := float64(sum)/float64(len(counts)), 0.0
	for _, n := range counts {
		x += math.Pow(float64(n)-want, 2) / math.Max(want, 1)
	}
	return x / float64(len(counts)-1)
}
