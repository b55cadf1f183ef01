package skill

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Rasch is the chance of a right answer where ability exceeds difficulty by
// so many logits, for m choices with chance 1/m:
//
//	c + (1−c)/(1+e^−x)
//
// Source: G. Rasch, Probabilistic Models for Some Intelligence and Attainment
// Tests (1960); with guessing, A. Birnbaum in Lord & Novick (1968).
func Rasch(excess, chance float64) float64 { return chance + (1-chance)/(1+math.Exp(-excess)) }

// RaschInformation is what one answer tells of the ability: P′²/(P(1−P)).
func RaschInformation(excess, chance float64) float64 {
	p := Rasch(excess, chance)
	logistic := 1 / (1 + math.Exp(-excess))
	slope := (1 - chance) * logistic * (1 - logistic)
	return slope * slope / (p * (1 - p))
}

// MostInformative is the excess at which an answer tells most: ln of
// (1+√(1+8c))/2 (Birnbaum 1968).
func MostInformative(chance float64) float64 { return math.Log((1 + math.Sqrt(1+8*chance)) / 2) }

// FormItem is a trial that a self-test may ask.
type FormItem struct {
	Category   string  // items of a category are spread evenly over the forms
	Difficulty float64 // logits
}

// Forms deals items into forms that are as hard as each other, as indices of
// items: within a category in order of difficulty, each next few to the forms
// in a random order, the easiest of them to the form that has had the hardest
// so far. Every form gets as many of each category; what does not divide is
// left out, from the hardest down. It refuses fewer than one form.
func Forms(r *rand.Rand, items []FormItem, forms int) ([][]int, error) {
	if forms < 1 {
		return nil, fmt.Errorf("%d forms cannot be made", forms)
	}
	dealt, sums := make([][]int, forms), make([]float64, forms)
	for _, category := range byCategory(items) {
		for ; len(category) >= forms; category = category[forms:] {
			order := r.Perm(forms)
			slices.SortStableFunc(order, func(a, b int) int { return compareDown(sums[a], sums[b]) })
			for i, form := range order {
				dealt[form] = append(dealt[form], category[i])
				sums[form] += items[category[i]].Difficulty
			}
		}
	}
	return dealt, nil
}

// byCategory groups indices of items by category, in order of first
// occurrence, the easiest first.
func byCategory(items []FormItem) [][]int {
	place := map[string]int{}
	var groups [][]int
	for i, item := range items {
		at, known := place[item.Category]
		if !known {
			at = len(groups)
			place[item.Category] = at
			groups = append(groups, nil)
		}
		groups[at] = append(groups[at], i)
	}
	for _, group := range groups {
		slices.SortStableFunc(group, func(a, b int) int { return compareDown(items[b].Difficulty, items[a].Difficulty) })
	}
	return groups
}
