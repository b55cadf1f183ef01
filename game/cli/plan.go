package cli

import (
	"context"
	"fmt"
	"strings"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/tools"
	"strop/game/desk"
)

type planCommand struct {
	Minutes    int    `help:"How long you want to practise today." default:"15"`
	Transducer string `help:"What you listen on: headphones, loudspeakers or unstated." enum:"headphones,loudspeakers,unstated" default:"unstated"`
	Stems      bool   `help:"You have material with stems."`
	JSON       bool   `help:"Print as JSON." name:"json"`
}

// Run lays out today's practice.
func (c *planCommand) Run(ctx context.Context, env Env) error {
	if c.Minutes < 1 {
		return usageError{fmt.Errorf("--minutes takes 1 or more, not %d", c.Minutes)}
	}
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	state, err := d.State(ctx)
	if err != nil {
		return err
	}
	plan, err := state.Plan(practice.Day{
		Tools: c.tools(), Condition: drills.Condition{Transducer: c.Transducer, Heard: drills.InMix},
		OnStem: c.Stems, Minutes: c.Minutes, Now: env.Clock(),
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, plan)
	}
	c.print(env, plan)
	return nil
}

// tools are the drills that the material will do for.
func (c *planCommand) tools() (fit []drills.Tool) {
	for _, t := range tools.All() {
		if c.Stems || t.Fit.Mix {
			fit = append(fit, t)
		}
	}
	return fit
}

func (c *planCommand) print(env Env, plan practice.Plan) {
	say := func(format string, args ...any) { fmt.Fprintf(env.Stdout, format+"\n", args...) }
	for _, b := range plan.Blocks {
		where := ""
		if len(b.Regions) > 0 {
			where = " (" + strings.Join(b.Regions, ", ") + ")"
		}
		say("%2d min  %s, %s%s: %d trials. %s", b.Minutes, b.Tool.Title, b.Rung.Title, where, b.Trials, b.Reason)
		if b.BreakAfter {
			say("        A break, as long as it took to get here.")
		}
	}
	if plan.Advice != "" {
		say("%s", plan.Advice)
	}
}
