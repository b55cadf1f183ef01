package cli

import (
	"context"
	"fmt"

	"strop/drills/skill"
)

type precisionCommand struct {
	simulationFlags `embed:"" set:"runs=400"`
	listenerFlags   `embed:""`
	Unknown         bool `help:"The methods are not told where thresholds usually lie."`
}

// config is the experiment with all methods.
func (f listenerFlags) config(s simulationFlags) (cfg skill.PrecisionConfig, err error) {
	cfg = skill.PrecisionConfig{Runs: s.Runs, Seed: s.Seed, Methods: skill.PrecisionMethods(), Slopes: f.Slope, Lapses: f.Lapse, Trials: f.Trials}
	if err := f.checkListeners(); err != nil {
		return cfg, err
	}
	return cfg, s.checkRuns(len(cfg.Methods) * len(f.Slope) * len(f.Lapse) * len(f.Trials))
}

// Run prints errors of thresholds.
func (c *precisionCommand) Run(ctx context.Context, env Env) error {
	cfg, err := c.config(c.simulationFlags)
	if err != nil {
		return err
	}
	if c.Unknown {
		cfg.Knowledge = skill.Unknown
	}
	return simulate(ctx, env, c.simulationFlags, func(p skill.Progress) ([]skill.PrecisionRow, error) {
		return skill.Precision(ctx, cfg, p)
	}, "method, slope, lapse, trials, RMSE dB, bias dB, 90 % interval holds, share right", func(r skill.PrecisionRow) []any {
		return []any{r.Method, short(r.Slope), short(r.Lapse), r.Trials, plusMinus{r.RMSEDB, r.MonteCarloErrorDB}, r.BiasDB, share{r.Coverage90}, r.Accuracy}
	})
}

type coverageCommand struct {
	simulationFlags `embed:"" set:"runs=400"`
	listenerFlags   `embed:""`
	Fall            []float64 `help:"dB by which the threshold falls with each trial, 0 to 0.2: 0 is steady." default:"0,0.03"`
}

// coverageRow is one method with one kind of listener after some trials.
type coverageRow struct {
	Method          string  `json:"method"`
	Slope           float64 `json:"slope"`
	Lapse           float64 `json:"lapse"`
	FallDB          float64 `json:"fallDB"` // of the threshold, with each trial
	Trials          int     `json:"trials"`
	Coverage90      float64 `json:"coverage90"`
	BiasDB          float64 `json:"biasDB"`
	RMSEDB          float64 `json:"rmseDB"`
	MonteCarloError float64 `json:"monteCarloError"` // of Coverage90
}

// Run prints how often intervals hold the truth, for the methods that have
// intervals.
func (c *coverageCommand) Run(ctx context.Context, env Env) error {
	cfg, err := c.config(c.simulationFlags)
	if err != nil {
		return err
	}
	if err := c.checkFall(); err != nil {
		return err
	}
	cfg.Methods = skill.IntervalMethods()
	return simulate(ctx, env, c.simulationFlags, func(p skill.Progress) ([]coverageRow, error) {
		return c.rows(ctx, cfg, p)
	}, "method, slope, lapse, falls dB a trial, trials, 90 % interval holds, bias dB, RMSE dB", func(r coverageRow) []any {
		return []any{r.Method, short(r.Slope), short(r.Lapse), short(r.FallDB), r.Trials, plusMinus{r.Coverage90, r.MonteCarloError}, r.BiasDB, r.RMSEDB}
	})
}

func (c *coverageCommand) checkFall() error {
	if !all(c.Fall, func(dB float64) bool { return dB >= 0 && dB <= .2 }) {
		return usageError{fmt.Errorf("--fall takes numbers from 0 to 0.2 dB a trial, not %v", c.Fall)}
	}
	return c.checkRuns(len(skill.IntervalMethods()) * len(c.Slope) * len(c.Lapse) * len(c.Trials) * len(c.Fall))
}

// rows runs the experiment once for each fall.
func (c *coverageCommand) rows(ctx context.Context, cfg skill.PrecisionConfig, p skill.Progress) (rows []coverageRow, err error) {
	for i, fall := range c.Fall {
		cfg.FallDB = fall
		measured, err := skill.Precision(ctx, cfg, func(done, of int) { p(done+i*of, of*len(c.Fall)) })
		if err != nil {
			return nil, err
		}
		for _, m := range measured {
			rows = append(rows, coverageRow{m.Method, m.Slope, m.Lapse, fall, m.Trials, *m.Coverage90, m.BiasDB, m.RMSEDB,
				errorOfShare(*m.Coverage90, c.Runs)})
		}
	}
	return rows, nil
}
