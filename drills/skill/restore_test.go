package skill_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

// A trainer that is restored goes on as the one that was kept, trial by trial,
// over nights, and so does a loop's offset.
func TestRestore(t *testing.T) {
	grid := labGrid()
	fresh := func() *skill.Trainer {
		return skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(grid), Rand: rand.New(rand.NewPCG(42, 1)),
			Target: skill.TwoChoiceTarget, JitterDB: skill.DefaultJitterDB, Fresh: 15, Catch: .1, Drift: skill.DefaultDrift})
	}
	one, answers := fresh(), rand.New(rand.NewPCG(1, 1))
	loop := skill.NewMaterial(.5, skill.DefaultMaterialSpreadDB)
	for range 70 {
		right := answers.Float64() < .8
		loop.Update(one.Level(), right, one.Posterior().MeanTriple())
		one.Update(right)
	}
	two := fresh()
	if err := two.Restore(one.State()); err != nil {
		t.Fatal(err)
	}
	again, err := skill.RestoreMaterial(.5, skill.DefaultMaterialSpreadDB, loop.State())
	if err != nil || again.OffsetDB() != loop.OffsetDB() {
		t.Errorf("offset %g dB, restored %g: %v", loop.OffsetDB(), again.OffsetDB(), err)
	}
	for i := range 200 {
		if one.Level() != two.Level() || one.Catch() != two.Catch() || one.Predicted() != two.Predicted() {
			t.Fatalf("trial %d: %g and %g dB", i, one.Level(), two.Level())
		}
		right := answers.Float64() < .8
		one.Update(right)
		two.Update(right)
		if i == 100 {
			one.Rest(skill.DefaultForgetting, 3)
			two.Rest(skill.DefaultForgetting, 3)
		}
	}
	other := skill.NewTrainer(skill.TrainerConfig{Posterior: skill.DefaultPrior(skill.Scale{Min: 1, Max: 9}.Grid(.5), 4),
		Rand: rand.New(rand.NewPCG(1, 1)), Target: .8})
	if err := other.Restore(one.State()); err == nil {
		t.Error("a state of another grid was taken")
	}
	if _, err := skill.RestoreMaterial(.5, 1, make([]float64, 3)); err == nil {
		t.Error("a state of other offsets was taken")
	}
}

// No state that a trainer cannot have been in is taken.
func TestRestoreRefuses(t *testing.T) {
	grid := labGrid()
	fresh := func() *skill.Trainer {
		return skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(grid), Rand: rand.New(rand.NewPCG(42, 1)), Target: .83})
	}
	for name, damage := range map[string]func(*skill.TrainerState){
		"no probabilities":       func(s *skill.TrainerState) { s.Mass = nil },
		"half of them":           func(s *skill.TrainerState) { s.Mass = s.Mass[:len(s.Mass)/2] },
		"not a number":           func(s *skill.TrainerState) { s.Mass[7] = math.NaN() },
		"below 0":                func(s *skill.TrainerState) { s.Mass[7], s.Mass[8] = -1, s.Mass[8]+s.Mass[7]+1 },
		"all of them 0":          func(s *skill.TrainerState) { clear(s.Mass) },
		"a level off the grid":   func(s *skill.TrainerState) { s.Next = 41 },
		"a level under it":       func(s *skill.TrainerState) { s.Next = -2 },
		"an aim off the grid":    func(s *skill.TrainerState) { s.Aimed = -1 },
		"endless random numbers": func(s *skill.TrainerState) { s.Draws = math.MaxInt },
		"endless trials":         func(s *skill.TrainerState) { s.Trials, s.Draws = math.MaxInt, math.MaxInt },
		"fewer than none":        func(s *skill.TrainerState) { s.Trials = -1 },
		"less drawn than was":    func(s *skill.TrainerState) { s.Draws = 0 },
	} {
		state := fresh().State()
		damage(&state)
		if err := fresh().Restore(state); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
