package skill_test

import (
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

// What is found on the other skills of a shallow, careless listener makes the
// first estimate of a new one better: 30 trials, 100 listeners.
func TestSharedPriorHelpsANewSkill(t *testing.T) {
	grid, form := labGrid(), skill.WeibullDB(.5)
	train := func(p *skill.Posterior, l skill.Triple, r *rand.Rand, trials int) *skill.Posterior {
		trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: p, Rand: r, Target: .84, JitterDB: 1})
		for range trials {
			trainer.Update(r.Float64() < form(trainer.Level(), l.Threshold, l.Slope, l.Lapse))
		}
		return p
	}
	var alone, shared float64
	for i := range 100 {
		r := rand.New(rand.NewPCG(uint64(i), 3))
		l := skill.Triple{Slope: 1.5, Lapse: .07}
		var known []*skill.Posterior
		for range 8 {
			l.Threshold = -26 + 12*r.Float64()
			known = append(known, train(labPrior(grid), l, r, 150))
		}
		l.Threshold = -26 + 12*r.Float64()
		seed := r.Uint64()
		for _, c := range []struct {
			prior *skill.Posterior
			sum   *float64
		}{{labPrior(grid), &alone}, {skill.SharedPrior(grid, -20, known...), &shared}} {
			away := train(c.prior, l, rand.New(rand.NewPCG(seed, 0)), 30).Threshold().Mean() - l.Threshold
			*c.sum += away * away / 100
		}
	}
	if shared >= alone {
		t.Errorf("mean square error %.2f dB² with what is known of the listener, %.2f without", shared, alone)
	}
	none, def := skill.SharedPrior(grid, -20), labPrior(grid)
	within(t, "entropy of a prior of nothing", none.Entropy(), def.Entropy(), 1e-9)
}
