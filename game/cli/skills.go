package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"strop/drills/practice"
	"strop/drills/progress"
	"strop/drills/skill"
	"strop/game/desk"
)

type skillsCommand struct {
	JSON bool `help:"Write JSON." name:"json"`
}

// Run tells the smallest change that is heard reliably, skill by skill.
func (c *skillsCommand) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	state, err := d.State(ctx)
	if err != nil {
		return err
	}
	reports := state.Report(env.Clock())
	if c.JSON {
		if reports == nil {
			reports = []practice.Report{}
		}
		out := json.NewEncoder(env.Stdout)
		out.SetIndent("", "  ")
		return out.Encode(reports)
	}
	if len(reports) == 0 {
		fmt.Fprintln(env.Stdout, "No skill has been practised yet.")
		return nil
	}
	for _, r := range reports {
		writeSkill(env.Stdout, r)
	}
	writeCalibration(env.Stdout, state.Calibration())
	fmt.Fprintln(env.Stdout, "\nA threshold is the smallest change heard reliably; in brackets what it lies in with 90 %. This is practice, no hearing test.")
	return nil
}

func writeSkill(w io.Writer, r practice.Report) {
	where := progress.ConditionText(r.Skill.Condition)
	fmt.Fprintf(w, "%s, %s (%s), %s: %d of %d right", r.Title, r.Skill.Region, r.Skill.Rung, where, r.Right, r.Answers)
	if text := r.Threshold.Text(); text != "" {
		fmt.Fprintf(w, "; threshold %s", text)
	}
	if text := r.Trend.Text(); text != "" {
		fmt.Fprintf(w, "; trend: %s", text)
	}
	if r.Due {
		fmt.Fprint(w, "; a review is due")
	}
	fmt.Fprintln(w, ".")
	if text := r.ConfusedText(); text != "" {
		fmt.Fprintf(w, "    said instead: %s\n", text)
	}
	if text := r.Bias.Text(); text != "" {
		fmt.Fprintf(w, "    you answer %s\n", text)
	}
	if text := r.KeptText(); text != "" {
		fmt.Fprintf(w, "    kept, by the probes that open a review: %s\n", text)
	}
}

// writeCalibration tells how predictions of right answers held.
func writeCalibration(w io.Writer, c skill.Calibration) {
	if c.Of() == 0 {
		return
	}
	fmt.Fprintln(w, "\nHow predictions held: share right foretold, share that was right (95 %), answers")
	for _, b := range c.Bins() {
		fmt.Fprintf(w, "  %3.0f %%  %3.0f %% (%.0f to %.0f)  %d\n", 100*b.Predicted, 100*b.Observed, 100*b.Interval.Lo, 100*b.Interval.Hi, b.Trials)
	}
}
