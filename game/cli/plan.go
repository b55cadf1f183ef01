package cli

import (
	"context"
	"fmt"
	"strings"

	"strop/drills"
	"strop/drills/practice"
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
	plan, err := d.Plan(ctx, desk.Wish{
		Minutes: c.Minutes, Condition: drills.Condition{Transducer: c.Transducer, Heard: drills.InMix},
	}, c.Stems)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, plan)
	}
	c.print(env, plan)
	return nil
}

func (c *planCommand) print(env Env, plan practice.Plan) {
	say := func(format string, args ...any) { fmt.Fprintf(env.Stdout, format+"\n", args...) }
	for _, b := range plan.Blocks {
		where := ""
		if len(b.Regions) > 0 {
			where = " (" + strings.Join(b.Regions, ", ") + ")"
		}
		say("%2d min  %s%s: %d trials. %s", b.Minutes, drills.TitleBy(b.Tool.Title, b.Rung.Title), where, b.Trials, b.Reason)
		if b.BreakAfter {
			say("        A break, as long as it took to get here.")
		}
	}
	if plan.Advice != "" {
		say("%s", plan.Advice)
	}
	say("strop text --minutes %d follows it.", c.Minutes)
}
