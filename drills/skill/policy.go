package skill

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// PolicyConfig declares an experiment on ways to train: simulated learners of
// several skills, daily sessions, what is gained at the end.
type PolicyConfig struct {
	Runs      int // learners a cell
	Seed      uint64
	Skills    int
	Sessions  int // one a day
	Trials    int // in a session
	Listeners []string
	Learning  []string
	Keeps     []float64 // of what was gained, after a day; keep^√days after more
	Policies  []string
	Nightly   bool // forgetting runs on by the night, keep^days, whether or not a skill was practised since
}

// DefaultPolicy is the experiment of the README.
func DefaultPolicy() PolicyConfig {
	cfg := PolicyConfig{Runs: 500, Seed: 1, Skills: 12, Sessions: 24, Trials: 90, Learning: LearningLaws(),
		Keeps: []float64{.80, .93, .99}, Policies: Policies()}
	for _, t := range Traits() {
		cfg.Listeners = append(cfg.Listeners, t.Name)
	}
	return cfg
}

// PolicyRow is one way to train one kind of learner. Gains are shares of what
// could be gained, on the day after the last session.
type PolicyRow struct {
	Listener        string  `json:"listener"`
	Learning        string  `json:"learning"`
	Forgetting      float64 `json:"forgetting"` // share kept after a day
	Policy          string  `json:"policy"`
	Gain            float64 `json:"gain"`
	GoalsMet        float64 `json:"goalsMet"` // share of skills with 0.6 of the possible gain
	WorstSkillGain  float64 `json:"worstSkillGain"`
	Accuracy        float64 `json:"accuracy"`
	GainAfter30Days float64 `json:"gainAfter30Days"`
	MonteCarloError float64 `json:"monteCarloError"` // of Gain
	GoalsMetError   float64 `json:"goalsMetError"`
}

// policy is a planner and a tracker for each skill.
type policy struct {
	name    string
	plan    Planner
	tracker func(g *Grid, r *rand.Rand) Tracker
	byNeed  bool // the planner asks for it
}

// The engine of this package and its baseline, by name.
const (
	EnginePolicy   = "engine: balanced shuffle, 85 % placement"
	BaselinePolicy = "balanced shuffle, weighted up-down 80 %"
)

var policies = []policy{
	{"random skill, fixed easy level", UniformRandom, func(*Grid, *rand.Rand) Tracker { return Fixed(policyStartDB) }, false},
	{"random skill, 2 down 1 up", UniformRandom, policyStaircase(2, 0), false},
	{"random skill, 3 down 1 up .7393", UniformRandom, policyStaircase(3, .7393), false},
	{"random skill, 85 % placement", UniformRandom, policyTrainer(0), false},
	{"neediest skill, 85 % placement", NeediestFirst, policyTrainer(0), true},
	{"balanced shuffle, 3 down 1 up .7393", Interleave(0), policyStaircase(3, .7393), false},
	{BaselinePolicy, Interleave(0), policyUpDown(.80), false},
	{"balanced shuffle, weighted up-down 85 %", Interleave(0), policyUpDown(.85), false},
	{EnginePolicy, Interleave(0), policyTrainer(DefaultCatch), false},
	{"engine, no catch trials", Interleave(0), policyTrainer(0), false},
	{"engine, 9 % catch trials", Interleave(0), policyTrainer(.09), false},
	{"engine, 6 skills a session", Interleave(6), policyTrainer(DefaultCatch), false},
	{"6 skills a session, weighted up-down 80 %", Interleave(6), policyUpDown(.80), false},
}

// Policies are the names of all ways to train.
func Policies() (names []string) {
	for _, p := range policies {
		names = append(names, p.name)
	}
	return names
}

var laws = []struct {
	name string
	law  Law
}{{"best near 85 %", Wilson85}, {"flat", Flat}}

// LearningLaws are the names of the laws of learning.
func LearningLaws() (names []string) {
	for _, l := range laws {
		names = append(names, l.name)
	}
	return names
}

// policyStartDB is where trackers begin: 8 dB above the mean threshold.
const policyStartDB = -6

func policyStaircase(n int, downUp float64) func(*Grid, *rand.Rand) Tracker {
	return func(*Grid, *rand.Rand) Tracker {
		return NewNDown(NDownConfig{Start: policyStartDB, Min: -40, Max: 0, N: n, Steps: []float64{4, 4, 2}, DownUp: downUp, Linear: true})
	}
}

func policyUpDown(target float64) func(*Grid, *rand.Rand) Tracker {
	return func(*Grid, *rand.Rand) Tracker {
		return NewUpDown(UpDownConfig{Start: policyStartDB, Min: -40, Max: 0, Target: target, StepDown: 0.5, Linear: true})
	}
}

func policyTrainer(catch float64) func(*Grid, *rand.Rand) Tracker {
	return func(g *Grid, r *rand.Rand) Tracker {
		return NewTrainer(TrainerConfig{Posterior: DefaultPrior(g, policyStartDB-8),
			Rand: r, Target: TwoChoiceTarget, JitterDB: DefaultJitterDB, Fresh: DefaultFresh, Catch: catch, Drift: DefaultDrift})
	}
}

// TryPolicies trains every listener under every law and forgetting by every
// policy. The same run of a cell is the same learner whatever the policy.
func TryPolicies(ctx context.Context, cfg PolicyConfig, progress Progress) ([]PolicyRow, error) {
	cells, err := cfg.cells()
	if err != nil {
		return nil, err
	}
	grid := precisionGrid()
	runs, err := inParallel(ctx, len(cells)*cfg.Runs, progress, func(i int) trained {
		return cells[i/cfg.Runs].train(cfg, grid, i%cfg.Runs)
	})
	if err != nil {
		return nil, err
	}
	rows := make([]PolicyRow, len(cells))
	for i, c := range cells {
		rows[i] = c.row(runs[i*cfg.Runs : (i+1)*cfg.Runs])
	}
	return rows, nil
}

type policyCell struct {
	trait  Trait
	law    int
	keep   float64
	policy policy
}

func (cfg PolicyConfig) cells() (cells []policyCell, err error) {
	if cfg.Runs < 1 || cfg.Skills < 2 || cfg.Sessions < 1 || cfg.Trials < 1 || len(cfg.Keeps) == 0 {
		return nil, errors.New("policies need runs, sessions and trials above 0, two skills or more, and a share kept")
	}
	for _, listener := range cfg.Listeners {
		trait, err := named("listener", Traits(), func(t Trait) string { return t.Name }, listener)
		if err != nil {
			return nil, err
		}
		for _, name := range cfg.Learning {
			law := slices.Index(LearningLaws(), name)
			if law < 0 {
				return nil, fmt.Errorf("there is no law of learning %q; there are %q", name, LearningLaws())
			}
			for _, keep := range cfg.Keeps {
				for _, wanted := range cfg.Policies {
					p, err := named("policy", policies, func(p policy) string { return p.name }, wanted)
					if err != nil {
						return nil, err
					}
					cells = append(cells, policyCell{trait, law, keep, p})
				}
			}
		}
	}
	return cells, nil
}

// named finds one of several by its name.
func named[T any](kind string, all []T, name func(T) string, wanted string) (T, error) {
	i := slices.IndexFunc(all, func(t T) bool { return name(t) == wanted })
	if i < 0 {
		var names []string
		for _, t := range all {
			names = append(names, name(t))
		}
		var none T
		return none, fmt.Errorf("there is no %s %q; there are %q", kind, wanted, names)
	}
	return all[i], nil
}

// trained is what became of one learner.
type trained struct{ gain, met, worst, accuracy, later float64 }

func (c policyCell) train(cfg PolicyConfig, grid *Grid, run int) trained {
	draws, answers, planning := randFor(cfg.Seed, run), randFor(cfg.Seed+1, run), randFor(cfg.Seed+2, run)
	learner := NewLearner(draws, c.trait, laws[c.law].law, c.keep, cfg.Skills)
	learner.Nightly = cfg.Nightly
	skills, trackers, goals := make([]Candidate, cfg.Skills), make([]Tracker, cfg.Skills), make([]float64, cfg.Skills)
	practised := make([]int, cfg.Skills) // day
	for i := range skills {
		trackers[i] = c.policy.tracker(grid, planning)
		goals[i] = learner.skills[i].start + .6*(learner.skills[i].least-learner.skills[i].start)
		if i%2 == 0 && i+1 < cfg.Skills {
			skills[i].Confusable = []int{i + 1}
		}
	}
	right := 0
	for day := range cfg.Sessions {
		learner.Wake(draws, float64(day))
		for i, t := range trackers {
			if c.policy.byNeed {
				skills[i].Need = need(t, goals[i])
			}
		}
		for _, s := range c.policy.plan(planning, skills, cfg.Trials) {
			rest(trackers[s], day-practised[s])
			practised[s] = day
			skills[s].Practised++
			answer := learner.Answer(answers, s, trackers[s].Level())
			trackers[s].Update(answer)
			right += int(indicator(answer))
		}
	}
	return summary(learner, cfg, right)
}

// need is how far a skill is from its goal: known from a posterior, else from
// the level now.
func need(t Tracker, goalDB float64) float64 {
	at := t.Level()
	if trainer, ok := t.(*Trainer); ok {
		at = trainer.Posterior().Threshold().Mean()
	}
	return max(0.5, at-goalDB)
}

// rest ages what is known over nights; a staircase stays where it was.
func rest(t Tracker, days int) {
	if trainer, ok := t.(*Trainer); ok && days > 0 {
		trainer.Rest(DefaultForgetting, float64(days))
	}
}

func summary(l *Learner, cfg PolicyConfig, right int) trained {
	last := float64(cfg.Sessions)
	gains, later := l.Gains(last), l.Gains(last+29)
	n := float64(len(gains))
	out := trained{worst: slices.Min(gains), accuracy: float64(right) / float64(cfg.Sessions*cfg.Trials)}
	for i, g := range gains {
		out.gain += g / n
		out.later += later[i] / n
		out.met += indicator(g >= .6) / n
	}
	return out
}

func (c policyCell) row(runs []trained) PolicyRow {
	var gain, met, worst, accuracy, later running
	for _, t := range runs {
		gain.add(t.gain)
		met.add(t.met)
		worst.add(t.worst)
		accuracy.add(t.accuracy)
		later.add(t.later)
	}
	return PolicyRow{c.trait.Name, laws[c.law].name, c.keep, c.policy.name,
		gain.mean(), met.mean(), worst.mean(), accuracy.mean(), later.mean(), gain.error(), met.error()}
}

// Comparison is how a policy does against another in one cell; differences of
// the same learners, relative to the other.
type Comparison struct {
	Listener, Learning string
	Forgetting         float64
	Gain, Worst, Later float64 // relative: 0.03 is 3 % more
	GoalsMet           float64 // difference
	GoalsMetError      float64 // Monte-Carlo, of the difference taken as of independent rows
}

// Compare lines up the rows of two policies.
func Compare(rows []PolicyRow, policy, baseline string) (out []Comparison) {
	for _, a := range rows {
		i := slices.IndexFunc(rows, func(b PolicyRow) bool {
			return b.Policy == baseline && b.Listener == a.Listener && b.Learning == a.Learning && b.Forgetting == a.Forgetting
		})
		if a.Policy != policy || i < 0 {
			continue
		}
		b := rows[i]
		out = append(out, Comparison{a.Listener, a.Learning, a.Forgetting, a.Gain/b.Gain - 1, a.WorstSkillGain/b.WorstSkillGain - 1,
			a.GainAfter30Days/b.GainAfter30Days - 1, a.GoalsMet - b.GoalsMet, math.Hypot(a.GoalsMetError, b.GoalsMetError)})
	}
	return out
}
