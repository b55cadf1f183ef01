package skill

import (
	"fmt"
	"math"
	"slices"
)

// TrainerState is a Trainer without what it was made with: a cache of what its
// answers have made of it.
type TrainerState struct {
	Mass                       []float64 // of the posterior
	Aimed, Next, Trials, Draws int
	Want, JitterDB, OffDB      float64
	Recent                     uint
}

// mostTrials of one skill are more than anybody answers.
const mostTrials = 1 << 24

// State is what Restore takes.
func (t *Trainer) State() TrainerState {
	p := t.cfg.Posterior
	return TrainerState{slices.Clone(p.mass), p.aimed, t.next, t.trials, t.draws, t.want, t.jitterDB, t.offDB, t.recent}
}

// Restore brings a trainer, just made as the one was that the state is of, to
// where that one was: from then on both do the same. It refuses a state of
// another grid.
func (t *Trainer) Restore(s TrainerState) error {
	p := t.cfg.Posterior
	levels := len(p.grid.axes.Level)
	if len(s.Mass) != len(p.mass) || s.Next < unplaced || s.Next >= levels || s.Aimed < 0 || s.Aimed >= levels {
		return fmt.Errorf("a state of %d probabilities does not fit a grid of %d", len(s.Mass), len(p.mass))
	}
	if sum := total(s.Mass); !(math.Abs(sum-1) < 1e-6) || slices.Min(s.Mass) < 0 {
		return fmt.Errorf("probabilities that sum to %g are none", sum)
	}
	if s.Trials < 0 || s.Trials > mostTrials || s.Draws < t.draws || s.Draws > t.draws+4*s.Trials {
		return fmt.Errorf("%d trials do not take %d random numbers", s.Trials, s.Draws)
	}
	copy(p.mass, s.Mass)
	p.aimed, t.next, t.trials, t.want, t.jitterDB, t.offDB, t.recent = s.Aimed, s.Next, s.Trials, s.Want, s.JitterDB, s.OffDB, s.Recent
	for ; t.draws < s.Draws; t.draws++ {
		t.cfg.Rand.Float64()
	}
	return nil
}

// State is what RestoreMaterial takes.
func (m *Material) State() []float64 { return slices.Clone(m.marg.Mass) }

// RestoreMaterial is what NewMaterial makes, with what was learned since. It
// refuses a state of another number of offsets.
func RestoreMaterial(chance, spreadDB float64, state []float64) (*Material, error) {
	m := NewMaterial(chance, spreadDB)
	if len(state) != len(m.marg.Mass) {
		return nil, fmt.Errorf("a state of %d probabilities does not fit %d offsets", len(state), len(m.marg.Mass))
	}
	copy(m.marg.Mass, state)
	return m, nil
}
