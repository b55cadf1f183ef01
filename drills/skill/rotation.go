package skill

import (
	"math/rand/v2"
	"slices"
)

// UnheardShare is how often a loop that was never heard is taken where there
// is one: what is learned on a few loops must hold for others.
const UnheardShare = 0.2

// Rotate chooses the loop of a trial. heard holds for each loop the number of
// the trial that played it last, -1 for never. Of the loops heard it takes one at random among the third heard
// longest ago, so that with three loops or more none comes twice in a row. It
// panics where there are no loops.
func Rotate(r *rand.Rand, heard []int) int {
	var never, before []int
	for i, at := range heard {
		if at < 0 {
			never = append(never, i)
		} else {
			before = append(before, i)
		}
	}
	fresh := r.Float64() < UnheardShare
	if len(never) > 0 && (fresh || len(before) < 3) {
		return never[r.IntN(len(never))]
	}
	slices.SortStableFunc(before, func(a, b int) int { return heard[a] - heard[b] })
	return before[r.IntN(max(1, len(before)/3))]
}
