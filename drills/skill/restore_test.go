package skill_test

import (
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
