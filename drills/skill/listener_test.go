package skill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"strop/drills/skill"
)

// Relative rates of learning at a share right, computed from Wilson et al.
// 2019: z·φ(z)/φ(1).
func TestWilson85(t *testing.T) {
	for share, want := range map[float64]float64{.60: .40, .65: .59, .70: .75, .75: .89, .80: .97, .8413: 1, .85: .999, .90: .93, .95: .70, .50: 0, .40: 0} {
		within(t, fmt.Sprintf("rate at %.2f", share), skill.Wilson85(share), want, 5.1e-3)
	}
}

// answers counts right answers and answers with the first choice.
func answers(l skill.Listener, n int, s skill.Stimulus) (right, first, gaveUp float64) {
	r := rand.New(rand.NewPCG(9, 9))
	for i := range n {
		s.Changed = r.IntN(s.Choices)
		s.Louder = -1
		if i%2 == 0 {
			s.Louder = r.IntN(s.Choices)
		}
		switch answer := l.Answer(r, s); answer {
		case skill.GaveUp:
			gaveUp++
		case s.Changed:
			right++
			first += b2f(answer == 0)
		default:
			first += b2f(answer == 0)
		}
	}
	return right / float64(n), first / float64(n), gaveUp
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestListeners(t *testing.T) {
	honest := skill.Honest{Triple: skill.Triple{Threshold: -20, Slope: 3, Lapse: .04}}
	leaning := honest
	leaning.Bias = 1
	atThreshold := 1 - .04 - (.75-.04)*math.Exp(-1) // four choices
	for name, c := range map[string]struct {
		listener     skill.Listener
		level        float64
		right, first float64
	}{
		"honest at threshold": {honest, -20, atThreshold, .25},
		"honest, easy":        {honest, 0, .96, .25},
		"honest, far below":   {honest, -60, .25, .25},
		"leaning, far below":  {leaning, -60, .25, 1},
		"always":              {skill.Always(0), 0, .25, 1},
		"alternating":         {&skill.Alternating{}, 0, .25, .25},
		"coin":                {skill.Coin{}, 0, .25, .25},
		"level cue":           {skill.LevelCue{}, 0, .25, .25},
		"hearing-limited":     {skill.HearingLimited{Listener: honest, Deaf: 2}, 0, .25, .25},
		"hears the rest":      {skill.HearingLimited{Listener: honest, Deaf: 1}, 0, .96, .25},
	} {
		right, first, _ := answers(c.listener, 20000, skill.Stimulus{Skill: 2, LevelDB: c.level, Choices: 4})
		within(t, name+": right", right, c.right, .015) // five standard errors
		within(t, name+": first choice", first, c.first, .015)
	}
	if _, _, gaveUp := answers(&skill.Quitter{Listener: honest, Stays: 30}, 100, skill.Stimulus{Choices: 4}); gaveUp != 70 {
		t.Errorf("one who stays for 30 gave up %g of 100", gaveUp)
	}
}

// What a Pointer is made of is found in its answers, far from the ends.
func TestPointer(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	plain, pulled := &skill.Pointer{Bias: .3, Spread: .5, Lapse: .05}, &skill.Pointer{Spread: .1, Assimilation: .1}
	p := skill.NewPointing(10)
	slope, before := 0.0, 5.0
	const n = 4000
	for range n {
		truth := 3 + 4*r.Float64()
		if err := p.Update(plain.Answer(r, truth, 0, 10) - truth); err != nil {
			t.Fatal(err)
		}
		answer := pulled.Answer(r, truth, 0, 10)
		slope += (answer - truth) * (before - truth) / n
		before = answer
	}
	within(t, "bias", p.Bias().Mean(), .3, .05)
	within(t, "spread", p.Spread().Mean(), .5, .04) // values are a tenth apart
	within(t, "lapse", p.Lapse().Mean(), .05, .02)
	// E[(answer−truth)(before−truth)] = 0.1·E[(before−truth)²], two uniform
	// values 4 wide: 0.1·16/6, the earlier answer a little narrower.
	within(t, "pull", slope, .26, .03)
	if got := plain.Answer(r, 100, 0, 10); got != 10 {
		t.Errorf("an answer of %g on a scale to 10", got)
	}
}

// One trial by hand: θ falls by rate·law·(θ − least); then keep^√days.
func TestLearnerLearnsAndForgets(t *testing.T) {
	trait := skill.Trait{Name: "plain", Rate: .05, Slope: 2.5, Lapse: .02}
	train := func(law skill.Law, level float64, nightly bool) *skill.Learner {
		r := rand.New(rand.NewPCG(4, 4))
		l := skill.NewLearner(r, trait, law, .9, 2)
		l.Nightly = nightly
		l.Wake(r, 1)
		for range 40 {
			l.Answer(r, 0, level)
		}
		return l
	}
	l := train(skill.Flat, -10, false)
	day1 := l.Gains(1)
	if day1[0] < .5 || day1[1] != 0 {
		t.Errorf("gains %v after 40 trials of the first skill", day1)
	}
	within(t, "gain after 9 days", l.Gains(10)[0], day1[0]*.9*.9*.9, 1e-12)
	within(t, "gain after 9 nights", train(skill.Flat, -10, true).Gains(10)[0], day1[0]*math.Pow(.9, 9), 1e-12)
	if hopeless := train(skill.Wilson85, -60, false).Gains(1)[0]; hopeless > 1e-3 {
		t.Errorf("a gradient learner gained %.3f from trials at chance", hopeless)
	}
	if easy, hard := train(skill.Wilson85, 20, false).Gains(1)[0], train(skill.Wilson85, -13, false).Gains(1)[0]; easy > hard {
		t.Errorf("a gradient learner gained %.3f from easy trials, %.3f from hard ones", easy, hard)
	}
}

func TestPanelHasEightListenersAtLeast(t *testing.T) {
	names := map[string]bool{}
	for _, trait := range skill.Traits() {
		names[trait.Name] = true
	}
	if len(names) < 8 {
		t.Errorf("%d kinds", len(names))
	}
}
