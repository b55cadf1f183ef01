package content

import (
	"math"
	"slices"

	"strop/dsp"
)

// Shortest and longest loop that is cut, in seconds; common practice, no
// source, within the 12 s that ITU-R BS.1534-3 advises for an excerpt.
const (
	minLoopS = 6
	maxLoopS = 10
)

// cut is a place where a loop may begin or end.
type cut struct {
	frame int64
	hop   int
	beat  int     // counted along the stretch; -1 where there is no clear beat
	worth float64 // 0 to 1: how little a seam is heard there
}

// span is a loop that was found: cuts of one stretch, and how good it is.
type span struct {
	start, end int64 // frames
	i, j       int   // hops
	worth      float64
}

// findSpans cuts a stretch into loops that do not overlap, in its order: the
// set that covers most of it with the best seams.
func findSpans(m *Material, h hops) []span {
	onsets := h.onsets()
	r := findRhythm(onsets, h.rateHz)
	cuts := beatCuts(m, h, onsets, r)
	if spans := schedule(h, cuts); len(spans) > 0 {
		return spans
	}
	return schedule(h, quietCuts(h))
}

// beatCuts are the beats on which something begins, each cut just before it,
// worth more the more strongly it begins.
func beatCuts(m *Material, h hops, onsets []float64, r rhythm) []cut {
	var cuts []cut
	reach := int(math.Round(0.03 * h.rateHz))
	for n, beat := range r.beats {
		lo, hi := max(beat-reach, 0), min(beat+reach+1, len(onsets))
		top := lo
		for i := lo; i < hi; i++ {
			if onsets[i] > onsets[top] {
				top = i
			}
		}
		if onsets[top] < 1 {
			continue
		}
		frame := beforeOnset(m, h.at(top), h.frames)
		cuts = append(cuts, cut{frame: frame, hop: max(top-1, 0), beat: n, worth: onsets[top]})
	}
	compareWorths(cuts)
	return cuts
}

// compareWorths makes worths relative to the strongest tenth of all: 1 there,
// less below.
func compareWorths(cuts []cut) {
	if len(cuts) == 0 {
		return
	}
	worths := make([]float64, len(cuts))
	for i := range cuts {
		worths[i] = cuts[i].worth
	}
	slices.Sort(worths)
	strong := worths[len(worths)*9/10]
	for i := range cuts {
		cuts[i].worth = min(cuts[i].worth/strong, 1)
	}
}

// guardMS is how long before an onset a loop is cut: its fade-in of 5 ms is
// over when the note begins.
const guardMS = 6

// beforeOnset finds, within two hops of frame, where the sound rises most
// steeply, to half a millisecond, and is guardMS before that. The first
// difference is looked at, in which an attack stands out from held low notes.
func beforeOnset(m *Material, frame int64, hop int) int64 {
	step := max(int(m.RateHz()/2000), 1)
	from := max(frame-int64(2*hop), 0)
	buf := make([]dsp.Frame, 4*hop+1)
	buf = buf[:m.Frames(buf, from)]
	powers := stepPowers(buf, step)
	best, at := 0.0, frame
	for i := 4; i+4 <= len(powers); i++ {
		before, after := 1e-12, 1e-12
		for k := range 4 {
			before += powers[i-1-k]
			after += powers[i+k]
		}
		if rise := (after - before) * math.Log(after/before); after > before && rise > best {
			best, at = rise, from+int64(i*step)
		}
	}
	return max(at-int64(guardMS*m.RateHz()/1000), 0)
}

// stepPowers is the power of the first difference of each step frames.
func stepPowers(buf []dsp.Frame, step int) []float64 {
	powers := make([]float64, max(len(buf)-1, 0)/step)
	for i := range powers {
		for j := i * step; j < (i+1)*step; j++ {
			l, r := buf[j+1][0]-buf[j][0], buf[j+1][1]-buf[j][1]
			powers[i] += l*l + r*r
		}
	}
	return powers
}

// quietCuts are the quietest moments of each fifth of a second around them,
// worth more the further they lie below the level of the second around them:
// 0 at its level, 1 from 20 dB below.
func quietCuts(h hops) []cut {
	level := smoothed(h.power, 0.02*h.rateHz)
	near, wide := int(0.2*h.rateHz), int(0.5*h.rateHz)
	var cuts []cut
	for i := near; i < len(level)-near; i++ {
		if slices.Min(level[i-near:i+near+1]) < level[i] || level[i] == level[i-1] {
			continue
		}
		around := h.meanPower(max(i-wide, 0), min(i+wide, len(level)))
		depthDB := levelDB(around) - levelDB(level[i])
		cuts = append(cuts, cut{frame: h.at(i), hop: i, beat: -1, worth: min(max(depthDB/20, 0), 1)})
	}
	return cuts
}

// schedule chooses among all pairs of cuts the loops that do not overlap and
// whose seconds, times what each is worth, sum to the most: weighted interval
// scheduling by dynamic programming.
func schedule(h hops, cuts []cut) []span {
	total := make([]float64, len(cuts)) // the best of cuts up to here
	chosen := make([]*span, len(cuts))  // that ends here
	first := make([]int, len(cuts))     // cut at which it begins
	for j := range cuts {
		if j > 0 {
			total[j] = total[j-1]
		}
		for i := j - 1; i >= 0; i-- {
			seconds := float64(cuts[j].hop-cuts[i].hop) / h.rateHz
			if seconds > maxLoopS {
				break
			}
			if seconds < minLoopS || !h.loopable(cuts[i].hop, cuts[j].hop) {
				continue
			}
			worth := pairWorth(h, cuts[i], cuts[j])
			if sum := total[i] + seconds*worth; sum > total[j] {
				total[j], first[j] = sum, i
				chosen[j] = &span{cuts[i].frame, cuts[j].frame, cuts[i].hop, cuts[j].hop, worth}
			}
		}
	}
	var spans []span
	for j := len(cuts) - 1; j > 0; {
		if chosen[j] == nil {
			j--
			continue
		}
		spans = append(spans, *chosen[j])
		j = first[j]
	}
	slices.Reverse(spans)
	return spans
}

// pairWorth is how good a loop from a to b is, 0 to 1: the worth of its worse end,
// how whole the number of beats is, and how well what comes at the end goes
// over into what comes at the start.
func pairWorth(h hops, a, b cut) float64 {
	worth := min(a.worth, b.worth) * (0.6 + 0.4*max(0, h.likeness(a.hop, b.hop)))
	if a.beat >= 0 {
		worth *= wholeness(b.beat - a.beat)
	}
	return max(worth, 0.01)
}

// wholeness prefers numbers of beats that fill bars and groups of bars. The
// weights are our own.
func wholeness(beats int) float64 {
	for _, g := range []struct {
		group  int
		weight float64
	}{{16, 1}, {12, 0.9}, {8, 0.85}, {6, 0.75}, {4, 0.7}, {3, 0.6}, {2, 0.5}} {
		if beats%g.group == 0 {
			return g.weight
		}
	}
	return 0.35
}

// likeness compares the second around hop i with the second around hop j,
// octave by octave: the correlation of their levels in dB, 1 for the same
// music, near 0 for unrelated.
func (h hops) likeness(i, j int) float64 {
	reach := int(h.rateHz)
	back, forth := min(reach, i), min(reach, len(h.bands)-j)
	var sum, sumA, sumB, sumAA, sumBB, sumAB float64
	for k := -back; k < forth; k += 4 {
		for b := range hopBands {
			x, y := h.levels[i+k][b], h.levels[j+k][b]
			sum++
			sumA += x
			sumB += y
			sumAA += x * x
			sumBB += y * y
			sumAB += x * y
		}
	}
	spread := math.Sqrt((sum*sumAA - sumA*sumA) * (sum*sumBB - sumB*sumB))
	if spread <= 0 {
		return 0
	}
	return (sum*sumAB - sumA*sumB) / spread
}
