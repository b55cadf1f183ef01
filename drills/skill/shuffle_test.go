package skill_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/drills/skill"
)

// bench of skills: n with a confusable neighbour each.
func neighbours(n int) []skill.Candidate {
	skills := make([]skill.Candidate, n)
	for i := range skills {
		if i+1 < n {
			skills[i].Confusable = []int{i + 1}
		}
	}
	return skills
}

func longestRun(plan []int) (longest int) {
	run := 0
	for i := range plan {
		if i > 0 && plan[i] == plan[i-1] {
			run++
		} else {
			run = 1
		}
		longest = max(longest, run)
	}
	return longest
}

func TestInterleaveHoldsItsPromises(t *testing.T) {
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 1))
		n := 2 + r.IntN(11)
		skills := neighbours(n)
		for i := range skills {
			skills[i].Practised = r.IntN(50)
			skills[i].Share = []float64{0, .3, .5, 1, 2, 5}[r.IntN(6)]
		}
		due := r.IntN(n)
		skills[due].Due = true
		most := 4 + r.IntN(3)
		plan := skill.Interleave(most)(r, skills, 90)
		count := map[int]int{}
		for _, s := range plan {
			count[s]++
		}
		switch {
		case len(plan) != 90:
			t.Fatalf("seed %d: %d trials", seed, len(plan))
		case len(count) > max(most, 2):
			t.Errorf("seed %d: %d skills, at most %d wanted", seed, len(count), most)
		case count[due] == 0:
			t.Errorf("seed %d: the due review is missing", seed)
		case longestRun(plan) > 2:
			t.Errorf("seed %d: %d alike in a row: %v", seed, longestRun(plan), plan)
		}
		// From a half to twice the fair share; a pair and whole rounds cost some.
		for s, c := range count {
			fair := 90 / float64(len(count))
			if float64(c) < fair/2-2 || float64(c) > 2*fair+2 {
				t.Errorf("seed %d: skill %d has %d of 90 among %d", seed, s, c, len(count))
			}
		}
	}
}

func TestInterleavePutsAPairSideBySide(t *testing.T) {
	plan := skill.Interleave(6)(rand.New(rand.NewPCG(1, 2)), neighbours(12), 60)
	count, beside := map[[2]int]int{}, 0
	for i := range plan[1:] {
		a, b := min(plan[i], plan[i+1]), max(plan[i], plan[i+1])
		count[[2]int{a, b}]++
		if b == a+1 {
			beside = max(beside, count[[2]int{a, b}])
		}
	}
	if beside < 10 { // once in each round of six
		t.Errorf("no pair of neighbours comes side by side more than %d times in 10 rounds: %v", beside, plan)
	}
}

func TestInterleaveIsBalanced(t *testing.T) {
	skills := neighbours(12)
	for session := range 8 {
		for _, s := range skill.Interleave(5)(rand.New(rand.NewPCG(7, uint64(session))), skills, 60) {
			skills[s].Practised++
		}
	}
	least, most := 1000, 0
	for _, s := range skills {
		least, most = min(least, s.Practised), max(most, s.Practised)
	}
	if least < 24 { // 480 trials of 12 skills: 40 each, in lots of 12
		t.Errorf("after eight sessions from %d to %d trials of a skill", least, most)
	}
}

func TestInterleaveOfOne(t *testing.T) {
	if plan := skill.Interleave(0)(rand.New(rand.NewPCG(1, 1)), []skill.Candidate{{}}, 5); !slices.Equal(plan, []int{0, 0, 0, 0, 0}) {
		t.Errorf("%v", plan)
	}
}

func TestNeediestFirst(t *testing.T) {
	plan := skill.NeediestFirst(rand.New(rand.NewPCG(1, 1)), []skill.Candidate{{Need: 6}, {Need: 3}, {Need: 0}}, 90)
	var count [3]int
	for _, s := range plan {
		count[s]++
	}
	if count != [3]int{60, 30, 0} {
		t.Errorf("needs of 6, 3, 0 get %v of 90", count)
	}
}

// A skill far better than its standard keeps longer than one that just meets
// it, and one that forgets faster is due sooner.
func TestDueAfter(t *testing.T) {
	grid := labGrid()
	known := func(at float64) *skill.Posterior {
		return grid.Prior(skill.Normal(at, 1.5), skill.Uniform, skill.Uniform)
	}
	good, better := known(-14), known(-17)
	usual, fast := skill.Forgetting{SpreadDB: 1, Keep: .99}, skill.Forgetting{SpreadDB: 2, Keep: .9}
	within(t, "chance that the standard holds today", good.Holds(usual, -10, 0), .99, .01)
	a, b, c := good.DueAfter(usual, -10, .9, 200), better.DueAfter(usual, -10, .9, 200), good.DueAfter(fast, -10, .9, 200)
	if !(c < a && a < b) || c < 1 {
		t.Errorf("due after %d, better %d, forgetful %d days", a, b, c)
	}
	if d := known(-9).DueAfter(usual, -10, .9, 200); d != 0 {
		t.Errorf("a standard that is not met is due after %d days", d)
	}
	if before, on := good.Holds(usual, -10, float64(a-1)), good.Holds(usual, -10, float64(a)); before < .9 || on >= .9 {
		t.Errorf("chance %.3f the day before, %.3f on the day", before, on)
	}
	if skill.ReviewGap(0) != 2 || skill.ReviewGap(99) != 45 || skill.ReviewGap(1) <= skill.ReviewGap(0) {
		t.Error("gaps between reviews grow from 2 to 45 days")
	}
}

func ExampleInterleave() {
	skills := []skill.Candidate{{Confusable: []int{1}}, {}, {}, {Due: true}}
	fmt.Println(skill.Interleave(4)(rand.New(rand.NewPCG(1, 2)), skills, 8))
	// Output: [2 1 0 3 0 1 2 3]
}
