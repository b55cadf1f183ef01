package skill

import "slices"

// sharedAfter is how many skills of a listener outweigh what is expected of
// anybody: a weak prior, ours.
const sharedAfter = 3

// SharedPrior is DefaultPrior for one more skill of a listener whose other
// skills are known: slope and lapse are expected as they were found there, in
// the mean of the skills and three times what is expected of anybody. A
// threshold says nothing of another. Posteriors on other values of slope or
// lapse are left out.
func SharedPrior(g *Grid, guessDB float64, known ...*Posterior) *Posterior {
	expected := DefaultPrior(g, guessDB)
	slope, lapse := expected.Slope(), expected.Lapse()
	n := float64(sharedAfter)
	scale(slope.Mass, n)
	scale(lapse.Mass, n)
	for _, p := range known {
		if slices.Equal(p.grid.axes.Slope, g.axes.Slope) && slices.Equal(p.grid.axes.Lapse, g.axes.Lapse) {
			addScaled(slope.Mass, p.Slope().Mass, 1)
			addScaled(lapse.Mass, p.Lapse().Mass, 1)
		}
	}
	return g.Prior(Normal(guessDB, 6), slope.weight(), lapse.weight())
}

// weight is the mass of a value of the axis.
func (m Marginal) weight() Weight {
	return func(v float64) float64 {
		i, _ := slices.BinarySearch(m.Values, v)
		return m.Mass[i]
	}
}
