package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"strop/drills/practice"
	"strop/drills/progress"
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
	fmt.Fprintln(env.Stdout, "\nA threshold is the smallest change heard reliably; in brackets what it lies in with 90 %. This is practice, no hearing test.")
	return nil
}

func writeSkill(w io.Writer, r practice.Report) {
	where := progress.ConditionText(r.Skill.Condition)
	fmt.Fprintf(w, "%s, %s (%s), %s: %d of %d right", r.Title, r.Skill.Region, r.Skill.Rung, where, r.Right, r.Answers)
	if text := thresholdText(r.Threshold); text != "" {
		fmt.Fprintf(w, "; threshold %s", text)
	}
	switch {
	case r.Trend.Change != "":
		fmt.Fprintf(w, "; %s", r.Trend.Change)
	case r.Trend.Missing > 0:
		fmt.Fprintf(w, "; %d more answers until a trend can be told", r.Trend.Missing)
	}
	if r.Due {
		fmt.Fprint(w, "; a review is due")
	}
	fmt.Fprintln(w, ".")
	for i, m := range r.Confused {
		if i < 2 {
			fmt.Fprintf(w, "    named %s instead %d times\n", m.Named, m.Count)
		}
	}
}

// thresholdText is a threshold on the drill's ladder or, where that is not
// known, in dB of excitation.
func thresholdText(t practice.Threshold) string {
	e, unit := t.Level, t.Unit
	if e == nil {
		e, unit = t.Audible, "dB of excitation"
	}
	if e == nil {
		return ""
	}
	text := fmt.Sprintf("%.2g (%.2g to %.2g) %s", e.Value, e.Interval.Lo, e.Interval.Hi, unit)
	if t.Beyond != "" {
		text += ", perhaps " + t.Beyond + " than can be asked"
	}
	return strings.TrimSpace(text)
}
