package skill_test

import (
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

func TestRotate(t *testing.T) {
	const loops, trials = 200, 400
	heard := make([]int, loops)
	for i := range heard {
		heard[i] = -1
	}
	r, last, fresh := rand.New(rand.NewPCG(1, 5)), -1, 0
	for now := range trials {
		loop := skill.Rotate(r, heard)
		if loop == last {
			t.Fatalf("loop %d twice in a row at trial %d", loop, now)
		}
		if heard[loop] < 0 {
			fresh++
		}
		heard[loop], last = now, loop
	}
	within(t, "share never heard before", float64(fresh)/trials, skill.UnheardShare, .06)
}

// Few loops: each in turn, none twice in a row, none left out.
func TestRotateOfFew(t *testing.T) {
	for loops := 1; loops <= 6; loops++ {
		heard, r := make([]int, loops), rand.New(rand.NewPCG(1, 6))
		count, last := make([]int, loops), -1
		for i := range heard {
			heard[i] = -1
		}
		for now := range 60 * loops {
			loop := skill.Rotate(r, heard)
			if loop == last && loops > 1 {
				t.Fatalf("of %d loops one comes twice in a row at trial %d", loops, now)
			}
			heard[loop], last = now, loop
			count[loop]++
		}
		for i, n := range count {
			if n < 40 {
				t.Errorf("of %d loops number %d comes %d times in %d trials", loops, i, n, 60*loops)
			}
		}
	}
}
