package content

import (
	"slices"

	"strop/dsp"
)

// What a loop must not be. All of these are our own choices.
const (
	silentDB  = -60.0 // mean level of a loop, or level of a gap in it
	gapDB     = 35.0  // below the loop's mean level: also a gap
	gapS      = 0.6   // longest gap that may stand in a loop
	faintDB   = 20.0  // below the loud parts of the material: too faint
	fallingDB = 6.0   // last quarter below the three before it: a fade
	fadeDB    = 1.5   // below what came before: a fade has begun
)

// loopable reports whether hops i to before j sound throughout and hold their
// level: no silence, no gap, no fade.
func (h hops) loopable(i, j int) bool {
	mean := levelDB(h.meanPower(i, j))
	if mean < silentDB {
		return false
	}
	last := j - (j-i)/4
	if levelDB(h.meanPower(last, j)) < levelDB(h.meanPower(i, last))-fallingDB {
		return false
	}
	return h.longestBelow(i, j, max(silentDB, mean-gapDB)) <= gapS
}

// longestBelow is how many seconds in a row, at most, hops i to before j stay
// below a level.
func (h hops) longestBelow(i, j int, level float64) (seconds float64) {
	run, longest, power := 0, 0, dsp.FromDB(level)*dsp.FromDB(level)
	for _, p := range h.power[i:j] {
		run++
		if p >= power {
			run = 0
		}
		longest = max(longest, run)
	}
	return float64(longest) / h.rateHz
}

// loudDB is the level of the material's sounding parts: the mean power of
// all hops that are not silent.
func loudDB(stretches []hops) float64 {
	sum, n := 0.0, 0
	for _, h := range stretches {
		for _, p := range h.power {
			if levelDB(p) >= silentDB {
				sum += p
				n++
			}
		}
	}
	return levelDB(sum / float64(max(n, 1)))
}

// fadeStart is the frame from which the material fades or rings out until its
// end, or its last frame where it does not.
//
// The longest tail that falls is found by the share of falling pairs among
// its levels of a second (Kendall's rank correlation); the fade begins where
// it is for the last time within fadeDB of the median of the 20 s before.
func fadeStart(stretches []hops) int64 {
	seconds, frames := secondLevels(stretches)
	n := len(seconds)
	tail := fallingTail(seconds)
	if tail == n {
		return frames[n]
	}
	before := slices.Sorted(slices.Values(seconds[max(0, tail-20) : tail+1]))
	usual := before[len(before)/2]
	for i := n - 1; i > tail; i-- {
		if seconds[i] >= usual-fadeDB {
			return frames[i+1]
		}
	}
	return frames[tail]
}

// secondLevels are the levels of each second, the last possibly shorter, and
// the frames at which they begin; one frame more, the end.
func secondLevels(stretches []hops) (levels []float64, frames []int64) {
	end := int64(0)
	for _, h := range stretches {
		step := int(h.rateHz)
		for i := 0; i < len(h.power); i += step {
			j := min(i+step, len(h.power))
			levels = append(levels, levelDB(h.meanPower(i, j)))
			frames = append(frames, h.at(i))
			end = h.at(j)
		}
	}
	return levels, append(frames, end)
}

// fallingTail is where the longest tail of 3 to 60 levels begins in which at
// least nine pairs in ten fall, and which falls by 8 dB in all; len(levels)
// where there is none.
func fallingTail(levels []float64) int {
	n, falling, pairs, tail := len(levels), 0, 0, len(levels)
	for i := n - 2; i >= max(0, n-60); i-- {
		for j := i + 1; j < n; j++ {
			pairs++
			if levels[j] < levels[i] {
				falling++
			}
		}
		if n-i >= 3 && 10*falling >= 9*pairs && levels[i]-levels[n-1] >= 8 {
			tail = i
		}
	}
	return tail
}
