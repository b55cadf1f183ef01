package skill

import (
	"math/rand/v2"
	"slices"
)

// Candidate is a skill that a session may ask, as its planner sees it.
type Candidate struct {
	Practised  int     // trials so far
	Need       float64 // how far it is from its goal, 0 or more
	Share      float64 // of the trials, as a multiple of the fair share of those asked; held to 0.5 to 2; 0: 1
	Due        bool    // a review is due
	Confusable []int   // skills that are easily taken for it
}

// Planner orders a session: for each trial the index of a skill. A planner
// gets at least one skill.
type Planner func(r *rand.Rand, skills []Candidate, trials int) []int

// Interleave is a balanced shuffle: rounds in which each chosen skill has its
// share, one confusable pair always side by side, so that the difference
// between the two is heard. It chooses up to most skills, 0 for all: the pair,
// then reviews that are due, then the least practised. No skill comes more
// than twice in a row, unless it is the only one.
//
// Why interleaved: D. Rohrer, R. F. Dedrick & K. Burgess, Psychonomic Bulletin
// & Review 21 (2014). Why side by side: M. S. Birnbaum et al., Why interleaving
// enhances inductive learning, Memory & Cognition 41 (2013).
func Interleave(most int) Planner {
	return func(r *rand.Rand, skills []Candidate, trials int) []int {
		pair := confusablePair(r, skills)
		chosen := choose(r, skills, pair, most)
		credit := make([]float64, len(skills))
		var plan []int
		for len(plan) < trials {
			plan = appendRound(r, plan, skills, chosen, pair, credit)
		}
		return plan[:trials]
	}
}

// confusablePair is one at random, of those with a review due if there are
// any; nil for none.
func confusablePair(r *rand.Rand, skills []Candidate) []int {
	var all, due [][]int
	for i, s := range skills {
		for _, k := range s.Confusable {
			if k <= i || k >= len(skills) {
				continue // each pair once
			}
			all = append(all, []int{i, k})
			if s.Due || skills[k].Due {
				due = append(due, []int{i, k})
			}
		}
	}
	if len(due) > 0 {
		all = due
	}
	if len(all) == 0 {
		return nil
	}
	return all[r.IntN(len(all))]
}

// choose takes the pair, the due, then the least practised; equals at random.
func choose(r *rand.Rand, skills []Candidate, pair []int, most int) []int {
	order := r.Perm(len(skills))
	slices.SortStableFunc(order, func(a, b int) int {
		if inA, inB := slices.Contains(pair, a), slices.Contains(pair, b); inA != inB {
			return compareDown(indicator(inA), indicator(inB))
		}
		if skills[a].Due != skills[b].Due {
			return compareDown(indicator(skills[a].Due), indicator(skills[b].Due))
		}
		return skills[a].Practised - skills[b].Practised
	})
	if most <= 0 || most > len(order) {
		most = len(order)
	}
	return order[:max(most, len(pair))]
}

// appendRound gives each skill what it is owed, in a random order.
func appendRound(r *rand.Rand, plan []int, skills []Candidate, chosen, pair []int, credit []float64) []int {
	single := owed(skills, chosen, credit)
	together := len(pair) == 2 && slices.Contains(single, pair[0]) && slices.Contains(single, pair[1])
	if together {
		for _, s := range pair {
			i := slices.Index(single, s)
			single = slices.Delete(single, i, i+1)
		}
	}
	for range 50 { // nearly always the first or second order will do
		whole := append(slices.Clip(plan), shuffled(r, single, pair, together)...)
		if len(chosen) == 1 || thirdAlike(whole, len(plan)) < 0 {
			return whole
		}
	}
	return withoutThirds(append(plan, shuffled(r, single, pair, together)...), len(plan), chosen)
}

// owed adds each skill's share of a round to its credit and takes from it the
// trials that are whole.
func owed(skills []Candidate, chosen []int, credit []float64) (trials []int) {
	for i, share := range shares(skills, chosen) {
		s := chosen[i]
		credit[s] += share
		for ; credit[s] >= 1; credit[s]-- {
			trials = append(trials, s)
		}
	}
	return trials
}

// shares of the chosen, held to 0.5 to 2, with a mean of 1.
func shares(skills []Candidate, chosen []int) []float64 {
	held := make([]float64, len(chosen))
	for i, s := range chosen {
		if held[i] = skills[s].Share; held[i] == 0 {
			held[i] = 1
		}
	}
	for range 20 { // what is held back goes to the others, who may be held in turn
		sum := 0.0
		for i, share := range held {
			held[i] = min(max(share, 0.5), 2)
			sum += held[i]
		}
		for i := range held {
			held[i] *= float64(len(held)) / sum
		}
	}
	return held
}

// shuffled is single in a random order, with the pair somewhere in it.
func shuffled(r *rand.Rand, single, pair []int, together bool) []int {
	round := slices.Clone(single)
	r.Shuffle(len(round), func(i, j int) { round[i], round[j] = round[j], round[i] })
	if !together {
		return round
	}
	a, b := pair[0], pair[1]
	if r.IntN(2) == 0 {
		a, b = b, a
	}
	return slices.Insert(round, r.IntN(len(round)+1), a, b)
}

// thirdAlike is the first trial, from an index on, that is the third of the
// same skill in a row; -1 for none.
func thirdAlike(plan []int, from int) int {
	for i := max(from, 2); i < len(plan); i++ {
		if plan[i] == plan[i-1] && plan[i] == plan[i-2] {
			return i
		}
	}
	return -1
}

// withoutThirds gives each third alike to the next of the chosen instead: of
// two skills, one cannot have more than two thirds.
func withoutThirds(plan []int, from int, chosen []int) []int {
	for i := thirdAlike(plan, from); i >= 0; i = thirdAlike(plan, i+1) {
		plan[i] = chosen[(slices.Index(chosen, plan[i])+1)%len(chosen)]
	}
	return plan
}

// UniformRandom takes a skill at random for each trial: a baseline.
func UniformRandom(r *rand.Rand, skills []Candidate, trials int) []int {
	plan := make([]int, trials)
	for i := range plan {
		plan[i] = r.IntN(len(skills))
	}
	return plan
}

// NeediestFirst gives trials in proportion to need, in a random order: a
// baseline. It sinks trials into the skills that learn slowest.
func NeediestFirst(r *rand.Rand, skills []Candidate, trials int) []int {
	plan, count := make([]int, trials), make([]float64, len(skills))
	for i := range plan {
		best := 0
		for s := range skills { // the greatest need per trial it would have
			if skills[s].Need*(count[best]+1) > skills[best].Need*(count[s]+1) {
				best = s
			}
		}
		plan[i] = best
		count[best]++
	}
	r.Shuffle(trials, func(i, j int) { plan[i], plan[j] = plan[j], plan[i] })
	return plan
}
