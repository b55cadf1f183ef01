package skill

import (
	"fmt"
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
	if len(s.Mass) != len(p.mass) || s.Next < unplaced || s.Next >= levels || s.Aimed < 0 || s.Aimed >= levels || s.Draws < t.draws {
		return fmt.Errorf("a state of %d probabilities does not fit a grid of %d", len(s.Mass), len(p.mass))
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
