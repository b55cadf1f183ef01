package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"strop/drills/skill"
)

type policyCommand struct {
	simulationFlags `embed:"" set:"runs=20"`
	Policy          []string  `help:"A way to train, by a part of its name; may be given several times. Without it, the engine and what it has to beat; all for all." placeholder:"NAME" sep:"none"`
	Listener        []string  `help:"Kinds of learners, by name. Without it, all." placeholder:"NAME"`
	Learning        []string  `help:"A law of learning, by a part of its name; may be given several times. Without it, all." placeholder:"NAME" sep:"none"`
	Keep            []float64 `help:"Shares of what was gained that are left after a night." default:"0.8,0.93,0.99"`
	Nightly         bool      `help:"Forgetting goes with the number of nights; without it, with the square root of the days since a skill was practised."`
	Skills          int       `help:"Skills that a learner has, 2 to 100." default:"12"`
	Sessions        int       `help:"Sessions, one a day, 1 to 365." default:"24"`
	Trials          int       `help:"Trials in a session, 1 to 1000." default:"90"`
}

// Run prints what is gained.
func (c *policyCommand) Run(ctx context.Context, env Env) error {
	cfg, err := c.config()
	if err != nil {
		return err
	}
	return simulate(ctx, env, c.simulationFlags, func(p skill.Progress) ([]skill.PolicyRow, error) {
		return skill.TryPolicies(ctx, cfg, p)
	}, "learner, learning, kept, way to train, gain, goals met, worst skill, share right, 30 days later", func(r skill.PolicyRow) []any {
		return []any{r.Listener, r.Learning, short(r.Forgetting), r.Policy, plusMinus{r.Gain, r.MonteCarloError}, plusMinus{r.GoalsMet, r.GoalsMetError},
			r.WorstSkillGain, r.Accuracy, r.GainAfter30Days}
	})
}

// config is the experiment that was asked for, on all of what was not named.
func (c *policyCommand) config() (cfg skill.PolicyConfig, err error) {
	cfg = skill.DefaultPolicy()
	cfg.Runs, cfg.Seed, cfg.Keeps, cfg.Nightly = c.Runs, c.Seed, c.Keep, c.Nightly
	cfg.Skills, cfg.Sessions, cfg.Trials = c.Skills, c.Sessions, c.Trials
	if cfg.Policies, err = chosen("--policy", c.Policy, skill.Policies(), []string{skill.EnginePolicy, skill.BaselinePolicy}); err != nil {
		return cfg, err
	}
	if cfg.Listeners, err = chosen("--listener", c.Listener, cfg.Listeners, cfg.Listeners); err != nil {
		return cfg, err
	}
	if cfg.Learning, err = chosen("--learning", c.Learning, cfg.Learning, cfg.Learning); err != nil {
		return cfg, err
	}
	switch {
	case !all(c.Keep, func(v float64) bool { return v > 0 && v <= 1 }):
		return cfg, usageError{fmt.Errorf("--keep takes shares above 0 and up to 1, not %v", c.Keep)}
	case c.Skills < 2 || c.Skills > 100 || c.Sessions < 1 || c.Sessions > 365 || c.Trials < 1 || c.Trials > 1000:
		return cfg, usageError{fmt.Errorf("--skills takes 2 to 100, --sessions 1 to 365 and --trials 1 to 1000")}
	}
	return cfg, c.checkRuns(len(cfg.Policies) * len(cfg.Listeners) * len(cfg.Learning) * len(cfg.Keeps))
}

// chosen are the names that hold any of the parts, in their own order; usual
// where there are no parts, and every name for "all".
func chosen(flag string, parts, names, usual []string) (out []string, err error) {
	if len(parts) == 0 {
		return usual, nil
	}
	for _, part := range parts {
		holds := func(name string) bool { return part == "all" || strings.Contains(name, part) }
		if part == "" || !slices.ContainsFunc(names, holds) {
			return nil, usageError{fmt.Errorf("%s does not know %q; it takes a part of %q, or all", flag, part, names)}
		}
	}
	for _, name := range names {
		if slices.ContainsFunc(parts, func(part string) bool { return part == "all" || strings.Contains(name, part) }) {
			out = append(out, name)
		}
	}
	return out, nil
}

type verdictCommand struct {
	simulationFlags `embed:"" set:"runs=10000"`
}

// Run prints who passes.
func (c *verdictCommand) Run(ctx context.Context, env Env) error {
	if err := c.checkRuns(skill.VerdictListeners); err != nil {
		return err
	}
	cfg := skill.VerdictConfig{Runs: c.Runs, Seed: c.Seed}
	return simulate(ctx, env, c.simulationFlags, func(p skill.Progress) ([]skill.VerdictRow, error) {
		return skill.TryVerdicts(ctx, cfg, p)
	}, "listener, right at the reference, first form passes, fails, ready, not ready, taken for answering by level, trials", func(r skill.VerdictRow) []any {
		return []any{r.Listener, short(r.Share), plusMinus{r.Pass, r.MonteCarloError}, r.Fail, r.Ready, r.NotReady, r.ByLevel, r.Trials}
	})
}
