package skill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/drills/skill"
)

// labGrid is that of the simulations: levels and thresholds −40 to 0 dB.
func labGrid() *skill.Grid {
	return skill.NewGrid(skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0),
		Slope: []float64{1, 1.5, 2, 3, 4, 5}, Lapse: []float64{0, .02, .04, .07, .1}})
}

func labPrior(g *skill.Grid) *skill.Posterior {
	return skill.DefaultPrior(g, -20)
}

// answersAt is a listener whose threshold lies at −20 dB.
func answersAt(o observer, dB float64) bool { return o.right((dB + 20) / (20 * math.Log10(2))) }

func TestTrainerBeginsEasyAndComesToItsTarget(t *testing.T) {
	const listeners = 400
	grid := labGrid()
	var first, later int
	for i := range listeners {
		o := observer{rand.New(rand.NewPCG(uint64(i), 5)), 3, .02}
		awayDB := min(max(6*o.r.NormFloat64(), -12), 12) // as the prior has it
		trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(grid), Rand: rand.New(rand.NewPCG(uint64(i), 6)),
			Target: .85, JitterDB: 2, Fresh: 15, Drift: .02})
		for n := range 70 {
			right := answersAt(o, trainer.Level()+awayDB)
			trainer.Update(right)
			switch {
			case right && n < 5:
				first++
			case right && n >= 20:
				later++
			}
		}
	}
	// One standard error is 0.005 of the first five, 0.0025 of the last fifty.
	within(t, "share right of the first five", float64(first)/(5*listeners), .94, .03)
	within(t, "share right after twenty", float64(later)/(50*listeners), .85, .02)
}

func TestTrainerEasesAfterThreeMissesInFive(t *testing.T) {
	trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(labGrid()), Rand: rand.New(rand.NewPCG(1, 2)), Target: .75})
	for i, right := range []bool{false, true, false, true, false, true} {
		predicted := trainer.Predicted()
		want := .75
		if i == 5 {
			want = skill.Easy
		}
		if math.Abs(predicted-want) > .025 {
			t.Errorf("trial %d is predicted %.3f right, want %.2f", i+1, predicted, want)
		}
		trainer.Update(right)
	}
	if p := trainer.Predicted(); math.Abs(p-.75) > .025 {
		t.Errorf("after the easy one %.3f", p)
	}
}

// An answer moves the aim where what was presented is as easy as what was
// asked for, and only there: with three in four right, fewer than wanted, the
// up-down makes the next trials easier than the posterior alone.
func TestTrainerIsNudgedByWhatWasAsked(t *testing.T) {
	next := func(asked float64) (dB float64) {
		trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(labGrid()), Rand: rand.New(rand.NewPCG(4, 4)), Target: .83})
		for i := range 60 {
			level, predicted := trainer.Level(), trainer.Predicted()
			trainer.UpdateAt(level, predicted+asked, i%4 != 0) // 75 % right
		}
		return trainer.Level()
	}
	if with, without := next(0), next(.2); with < without+1 {
		t.Errorf("75 %% right: at %g dB where the answers count, %g where they do not", with, without)
	}
}

func TestTrainerServesItsShareOfCatchTrials(t *testing.T) {
	trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(labGrid()), Rand: rand.New(rand.NewPCG(1, 2)), Target: .8, Catch: .1})
	o, catches := observer{rand.New(rand.NewPCG(3, 4)), 3, .02}, 0
	for range 2000 {
		if trainer.Catch() {
			catches++
			if trainer.Predicted() < .95 {
				t.Fatalf("a catch trial is predicted %.3f right", trainer.Predicted())
			}
		}
		trainer.Update(answersAt(o, trainer.Level()))
	}
	within(t, "share of catch trials", float64(catches)/2000, .1, .02)
}

func TestMeasurerNeverRepeatsThrice(t *testing.T) {
	m := skill.NewMeasurer(labPrior(labGrid()), rand.New(rand.NewPCG(1, 2)), 0)
	o := observer{rand.New(rand.NewPCG(3, 4)), 3, .02}
	var levels []float64
	for range 300 {
		levels = append(levels, m.Level())
		m.Update(answersAt(o, m.Level()))
	}
	for i := range levels[2:] {
		if levels[i] == levels[i+1] && levels[i] == levels[i+2] {
			t.Fatalf("%g dB three times in a row from trial %d", levels[i], i+1)
		}
	}
	within(t, "threshold", m.Posterior().Threshold().Mean(), -20, 2)
	within(t, "lapse", m.Posterior().Lapse().Mean(), .02, .02)
}

func TestSameSeedSameTrials(t *testing.T) {
	run := func() (levels []float64) {
		trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(labGrid()), Rand: rand.New(rand.NewPCG(8, 9)),
			Target: .85, JitterDB: 2, Fresh: 15, Catch: .1, Drift: .02})
		o := observer{rand.New(rand.NewPCG(3, 4)), 3, .02}
		for range 200 {
			levels = append(levels, trainer.Level())
			trainer.Update(answersAt(o, trainer.Level()))
		}
		return levels
	}
	if a, b := run(), run(); !slices.Equal(a, b) {
		t.Error("two runs from one seed differ")
	}
}

func TestScale(t *testing.T) {
	log := skill.Scale{Min: 1.5, Max: 12}
	within(t, "dB of an octave", log.DB(3), 6.0206, 1e-4)
	linear := skill.Scale{Min: 2, Max: 10, Linear: true}
	within(t, "dB of a middle", linear.DB(6), 12, 1e-12)
	for _, s := range []skill.Scale{log, linear} {
		for level := s.Min; level <= s.Max; level += .5 {
			within(t, "there and back", s.Level(s.DB(level)), level, 1e-12)
		}
	}
}

// sixtySkills is the largest state named for the program: 60 skills on four
// kinds of ladder.
func sixtySkills() (trainers []*skill.Trainer) {
	for i, chance := range []float64{1. / 2, 1. / 3, 1. / 4, 1. / 8} {
		scale := skill.Scale{Min: 1.5, Max: 24}
		grid := scale.Grid(chance)
		for k := range 15 {
			trainers = append(trainers, skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(grid),
				Rand: rand.New(rand.NewPCG(uint64(i), uint64(k))), Target: .8, JitterDB: 2, Drift: .02}))
		}
	}
	return trainers
}

// One answer learned and the next trial chosen.
func BenchmarkNextTrialOfSixtySkills(b *testing.B) {
	trainers := sixtySkills()
	for i := 0; b.Loop(); i++ {
		trainers[i%60].Update(i%5 != 0)
	}
}

func BenchmarkMostTelling(b *testing.B) {
	p := labPrior(labGrid())
	for b.Loop() {
		p.MostTelling()
	}
}

func BenchmarkRest(b *testing.B) {
	p := labPrior(labGrid())
	for b.Loop() {
		p.Rest(skill.Forgetting{SpreadDB: 1, Keep: .99}, 1)
	}
}

func ExampleTrainer() {
	gain := skill.Scale{Min: 1.5, Max: 12} // dB of an EQ boost
	trainer := skill.NewTrainer(skill.TrainerConfig{
		Posterior: skill.DefaultPrior(gain.Grid(.5), gain.DB(4)),
		Rand:      rand.New(rand.NewPCG(1, 2)),
		Target:    skill.TwoChoiceTarget,
		Drift:     skill.DefaultDrift,
	})
	on := skill.Scaled{Tracker: trainer, Scale: gain}
	for range 40 {
		on.Update(on.Level() > 3) // hears 3 dB and more
	}
	in := trainer.Posterior().Threshold().Interval(.9)
	fmt.Printf("next %.1f dB; heard from %.1f to %.1f dB\n", on.Level(), gain.Level(in.Lo), gain.Level(in.Hi))
	// Output: next 3.1 dB; heard from 2.0 to 4.1 dB
}
