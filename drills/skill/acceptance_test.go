package skill_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"strop/drills/skill"
)

// The figures that the engine must reach, on fewer runs than the command takes
// and with the Monte-Carlo error allowed for: three standard errors.

// precision runs one experiment and gives a row by method and trials.
func precision(t *testing.T, cfg skill.PrecisionConfig) func(method string, trials int) skill.PrecisionRow {
	t.Helper()
	cfg.Seed = 11
	rows, err := skill.Precision(context.Background(), cfg, nil)
	if err != nil {
		t.Fatal(err)
	}
	return func(method string, trials int) skill.PrecisionRow {
		for _, r := range rows {
			if r.Method == method && r.Trials == trials {
				return r
			}
		}
		t.Fatalf("no row of %q after %d trials", method, trials)
		return skill.PrecisionRow{}
	}
}

// Root-mean-square errors of minimum entropy after 30, 60 and 120 trials, and
// of 85 % placement relative to it, its accuracy and its coverage, for a usual
// and for a shallow, careless listener.
func TestThresholdPrecision(t *testing.T) {
	var covered []float64
	for _, c := range []struct {
		slope, lapse float64
		most         [3]float64 // dB
	}{{3, .02, [3]float64{2.2, 1.5, 1.15}}, {2, .06, [3]float64{3.6, 2.4, 1.6}}} {
		row := precision(t, skill.PrecisionConfig{Runs: 300, Methods: []string{"minimum entropy", "85 % placement"},
			Slopes: []float64{c.slope}, Lapses: []float64{c.lapse}, Trials: []int{30, 60, 120}})
		for i, trials := range []int{30, 60, 120} {
			name := fmt.Sprintf("slope %g, lapse %g, %d trials", c.slope, c.lapse, trials)
			entropy, placed := row("minimum entropy", trials), row("85 % placement", trials)
			if entropy.RMSEDB > c.most[i]+3*entropy.MonteCarloErrorDB {
				t.Errorf("%s: minimum entropy errs by %.2f dB, at most %.2f", name, entropy.RMSEDB, c.most[i])
			}
			if placed.RMSEDB > 1.15*entropy.RMSEDB+3*math.Hypot(placed.MonteCarloErrorDB, entropy.MonteCarloErrorDB) {
				t.Errorf("%s: 85 %% placement errs by %.2f dB, minimum entropy by %.2f", name, placed.RMSEDB, entropy.RMSEDB)
			}
			for _, r := range []skill.PrecisionRow{entropy, placed} { // one standard error of a share of .9 is .017
				covered = append(covered, *r.Coverage90)
				if *r.Coverage90 < .88-.05 {
					t.Errorf("%s: 90 %% intervals of %s hold the threshold in %.3f", name, r.Method, *r.Coverage90)
				}
			}
		}
		if a := row("85 % placement", 120).Accuracy; a < .83 || a > .87 {
			t.Errorf("slope %g, lapse %g: %.3f of the trials placed are right", c.slope, c.lapse, a)
		}
	}
	if mean := skill.MeanOf(covered, .9).Mean; mean > .99 { // far too wide would be no lie, and no use
		t.Errorf("90 %% intervals hold the threshold in %.3f", mean)
	}
}

// A threshold that falls by 0.03 dB a trial: the drift kernel keeps the 90 %
// interval honest; without it, it is not.
func TestCoverageWhileLearning(t *testing.T) {
	for _, slope := range []float64{2, 3} {
		row := precision(t, skill.PrecisionConfig{Runs: 400, Methods: []string{"85 % placement", "85 % placement, drift"},
			Slopes: []float64{slope}, Lapses: []float64{.02}, Trials: []int{60, 120}, FallDB: .03})
		with, without := row("85 % placement, drift", 120), row("85 % placement", 120)
		if *with.Coverage90 < .90-.045 {
			t.Errorf("slope %g: with drift %.3f", slope, *with.Coverage90)
		}
		if *without.Coverage90 >= *with.Coverage90 {
			t.Errorf("slope %g: %.3f without drift, %.3f with", slope, *without.Coverage90, *with.Coverage90)
		}
	}
}

// The engine's error after 30 trials is not reached by the best staircase
// after 40, with the same knowledge beforehand, nor after 50 with an unknown
// start; after 100 trials it is at most 1.3 times that of the best.
func TestTrialsSavedAgainstStaircases(t *testing.T) {
	staircases := []string{"3 down, 1 up", "3 down, 1 up, ratio .7393", "weighted up-down 75 %"}
	for _, c := range []struct {
		knowledge skill.Knowledge
		later     int
	}{{skill.Informed, 40}, {skill.Unknown, 50}} {
		row := precision(t, skill.PrecisionConfig{Runs: 600, Methods: append(staircases, "85 % placement, drift"),
			Slopes: []float64{3.5}, Lapses: []float64{.02}, Trials: []int{30, 40, 50, 100}, Knowledge: c.knowledge})
		engine, last := row("85 % placement, drift", 30), row("85 % placement, drift", 100)
		best := math.Inf(1)
		for _, s := range staircases {
			other := row(s, c.later)
			if margin := 3 * math.Hypot(engine.MonteCarloErrorDB, other.MonteCarloErrorDB); engine.RMSEDB > other.RMSEDB+margin {
				t.Errorf("knowledge %d: engine %.2f dB after 30, %s %.2f dB after %d", c.knowledge, engine.RMSEDB, s, other.RMSEDB, c.later)
			}
			best = min(best, row(s, 100).RMSEDB)
		}
		if last.RMSEDB > 1.3*best+.1 {
			t.Errorf("knowledge %d: after 100 trials %.2f dB, best staircase %.2f dB", c.knowledge, last.RMSEDB, best)
		}
	}
}

// Verdicts: errors of the reference test, and that no trick passes it.
func TestVerdicts(t *testing.T) {
	const runs = 10000
	rows, err := skill.TryVerdicts(context.Background(), skill.VerdictConfig{Runs: runs, Seed: 3}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		name := fmt.Sprintf("%s, %.2f right", r.Listener, r.Share)
		if r.Listener == "honest" { // against the exact values
			exact := skill.ReferenceTest.Operating(r.Share)
			within(t, name+": pass", r.Pass, exact.Pass, 4*r.MonteCarloError+1e-4)
			within(t, name+": trials", r.Trials, exact.MeanTrials, .8)
		}
		switch {
		case r.Listener == "honest" && r.Share == .65 && r.Pass > .06+3*r.MonteCarloError:
			t.Errorf("%s: false pass %.4f", name, r.Pass)
		case r.Listener == "honest" && r.Share == .85 && r.Fail > .05+3*r.MonteCarloError:
			t.Errorf("%s: false fail %.4f", name, r.Fail)
		case r.Listener == "honest" && r.ByLevel > .004:
			t.Errorf("%s: taken for answering by level in %.4f", name, r.ByLevel)
		case r.Listener == "honest" && r.Share == .95 && r.Ready < .9:
			t.Errorf("%s: ready in %.4f", name, r.Ready)
		case r.Listener == "level cue" && r.ByLevel < .95:
			t.Errorf("%s: found out in %.4f", name, r.ByLevel)
		}
		switch r.Listener {
		case "always the first", "alternating", "coin", "level cue", "hearing-limited", "quitter":
			if r.Ready > .001 {
				t.Errorf("%s: ready in %.4f", name, r.Ready)
			}
		}
	}
}

func TestJudge(t *testing.T) {
	form := func(right bool, kind skill.Kind, byLevel bool) *skill.Tally {
		f := &skill.Tally{Test: skill.Sequential{Test: skill.ReferenceTest}}
		for i := range 80 {
			f.Update(skill.Kind{Catch: i%6 == 0, Roved: i%2 == 0}, right || i%6 == 0 && !kind.Catch, byLevel || i%4 == 0)
		}
		return f
	}
	good, bad := form(true, skill.Kind{}, false), form(false, skill.Kind{}, false)
	careless, byLevel := form(false, skill.Kind{Catch: true}, false), form(true, skill.Kind{}, true)
	for i, c := range []struct {
		forms []*skill.Tally
		want  skill.Readiness
	}{
		{[]*skill.Tally{good, good}, skill.Ready}, {[]*skill.Tally{good}, skill.NotShown}, {[]*skill.Tally{good, bad}, skill.NotReady},
		{[]*skill.Tally{good, careless}, skill.NotShown}, {[]*skill.Tally{good, byLevel}, skill.NotShown}, {[]*skill.Tally{bad, good}, skill.NotShown}, {nil, skill.NotShown},
	} {
		if got := skill.Judge(c.forms...); got != c.want {
			t.Errorf("case %d: %v, want %v", i, got, c.want)
		}
	}
}

// A constant listener, measured anew in 20 sessions of 60 trials and compared
// with the first each time, is called better in at most 5 %. One who has
// gained 10 dB mostly is; with so many looks, little less can be told.
func TestFalseImprovement(t *testing.T) {
	const listeners, sessions = 150, 20
	grid, form := labGrid(), skill.WeibullDB(.5)
	measure := func(r *rand.Rand, l skill.Triple) skill.Marginal {
		trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(grid), Rand: r, Target: .85, JitterDB: 1, Drift: skill.DefaultDrift})
		for range 60 {
			trainer.Update(r.Float64() < form(trainer.Level(), l.Threshold, l.Slope, l.Lapse))
		}
		return trainer.Posterior().Threshold()
	}
	falsely, truly := 0, 0
	for i := range listeners {
		r := rand.New(rand.NewPCG(uint64(i), 77))
		l := skill.Triple{Threshold: -26 + 12*r.Float64(), Slope: 2 + 2*r.Float64(), Lapse: .03}
		first, claimed := measure(r, l), false
		for range sessions - 1 {
			claimed = claimed || skill.ChangeOf(first, measure(r, l), sessions-1) == skill.Better
		}
		if claimed {
			falsely++
		}
		l.Threshold -= 10
		if skill.ChangeOf(first, measure(r, l), sessions-1) == skill.Better {
			truly++
		}
	}
	if share := float64(falsely) / listeners; share > .05+.02 {
		t.Errorf("a constant listener is called better in %.3f", share)
	}
	if share := float64(truly) / listeners; share < .6 {
		t.Errorf("a gain of 10 dB is seen in %.3f", share)
	}
}

// The same seed gives the same rows on one processor and on several.
func TestExperimentsAreRepeatable(t *testing.T) {
	run := func(processors int) ([]skill.PrecisionRow, []skill.PolicyRow, []skill.VerdictRow) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		ctx := context.Background()
		a, err := skill.Precision(ctx, skill.PrecisionConfig{Runs: 20, Seed: 5, Methods: skill.PrecisionMethods(), Slopes: []float64{3}, Lapses: []float64{.02}, Trials: []int{20, 40}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		b, err := skill.TryPolicies(ctx, skill.PolicyConfig{Runs: 3, Seed: 5, Skills: 4, Sessions: 4, Trials: 30, Listeners: []string{"usual", "tires", "distracted", "hearing-limited"},
			Learning: skill.LearningLaws(), Keeps: []float64{.9}, Policies: skill.Policies()}, nil)
		if err != nil {
			t.Fatal(err)
		}
		c, err := skill.TryVerdicts(ctx, skill.VerdictConfig{Runs: 20, Seed: 5}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return a, b, c
	}
	a1, b1, c1 := run(1)
	a2, b2, c2 := run(4)
	if !reflect.DeepEqual(a1, a2) || !reflect.DeepEqual(b1, b2) || !reflect.DeepEqual(c1, c2) {
		t.Error("rows differ")
	}
}

func TestExperimentsTellProgressAndStop(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	last := 0
	_, err := skill.TryVerdicts(ctx, skill.VerdictConfig{Runs: 1000, Seed: 1}, func(done, of int) {
		if done != last+1 || of != 15000 {
			t.Errorf("told %d of %d after %d", done, of, last)
		}
		if last = done; done == 50 {
			stop()
		}
	})
	if err == nil || last > 100 {
		t.Errorf("stopped at 50, ended at %d with %v", last, err)
	}
}

func TestExperimentsRefuseUnknownNames(t *testing.T) {
	ctx := context.Background()
	p := skill.DefaultPrecision()
	p.Methods = []string{"guess"}
	if _, err := skill.Precision(ctx, p, nil); err == nil {
		t.Error("an unknown method was run")
	}
	for i, change := range []func(*skill.PolicyConfig){
		func(c *skill.PolicyConfig) { c.Policies = []string{"x"} }, func(c *skill.PolicyConfig) { c.Learning = []string{"x"} },
		func(c *skill.PolicyConfig) { c.Listeners = []string{"x"} }, func(c *skill.PolicyConfig) { c.Runs = 0 },
	} {
		cfg := skill.DefaultPolicy()
		change(&cfg)
		if _, err := skill.TryPolicies(ctx, cfg, nil); err == nil {
			t.Errorf("case %d was run", i)
		}
	}
	if _, err := skill.TryVerdicts(ctx, skill.VerdictConfig{}, nil); err == nil {
		t.Error("no runs were run")
	}
}

// The engine is nowhere worse than balanced shuffle with a weighted up-down by
// more than 2 % of gain, 5 % of the worst skill's, or the error of the goals,
// on a part of the panel; the whole of it is in the README.
func TestEngineDoesNotLose(t *testing.T) {
	rows, err := skill.TryPolicies(context.Background(), skill.PolicyConfig{Runs: 25, Seed: 21, Skills: 12, Sessions: 24, Trials: 90,
		Listeners: []string{"usual", "slow", "lapses"}, Learning: skill.LearningLaws()[:1], Keeps: []float64{.80, .99},
		Policies: []string{skill.EnginePolicy, skill.BaselinePolicy}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	compared := skill.Compare(rows, skill.EnginePolicy, skill.BaselinePolicy)
	if len(compared) != 6 {
		t.Fatalf("%d cells compared", len(compared))
	}
	for _, c := range compared {
		if c.Gain < -.02 || c.Worst < -.05 || c.Later < -.02 || c.GoalsMet < -3*c.GoalsMetError {
			t.Errorf("%+v", c)
		}
	}
}

// 60 skills of four kinds take less than 50 MB.
func TestStateOfSixtySkills(t *testing.T) {
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	trainers := sixtySkills()
	runtime.GC()
	runtime.ReadMemStats(&after)
	if mb := float64(after.HeapAlloc-before.HeapAlloc) / 1e6; mb > 50 || mb < .1 {
		t.Errorf("60 skills take %.1f MB", mb)
	}
	runtime.KeepAlive(trainers)
}

// Levels of a seed, the same on every machine: they lie on a grid, so that the
// last bits of a sum do not show.
func TestSessionOfASeed(t *testing.T) {
	trainer := skill.NewTrainer(skill.TrainerConfig{Posterior: labPrior(labGrid()), Rand: rand.New(rand.NewPCG(42, 1)),
		Target: .85, JitterDB: 1, Fresh: 15, Catch: .04, Drift: .03})
	var got []float64
	for i := range 24 {
		got = append(got, trainer.Level())
		trainer.Update(i%6 != 5)
	}
	want := []float64{-11, -11, -12, -13, -14, -16, -13, -13, -14, -14, -14, -15, -13, -14, -14, -14, -15, -16, -13, -15, -14, -14, -14, -8}
	if !slices.Equal(got, want) {
		t.Errorf("levels %v, want %v", got, want)
	}
}
