package cli

import (
	"context"
	"os"
	"time"

	"strop/drills/exchange"
	"strop/drills/progress"
	"strop/drills/tools"
	"strop/game/desk"
)

type progressCommand struct {
	JSON    bool   `help:"Print as JSON." name:"json"`
	Picture string `help:"Also draw it: a file that ends in .svg or .png." placeholder:"FILE"`
}

// Run shows what the records tell; nothing but them is ever stored.
func (c *progressCommand) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	records, err := d.History.Records(ctx, "")
	if err != nil {
		return err
	}
	p := progress.Summarise(records, tools.Find, time.Local)
	if c.Picture != "" {
		if err := writeFile(c.Picture, func(f *os.File) error { return progress.WritePicture(f, c.Picture, p) }); err != nil {
			return err
		}
	}
	if c.JSON {
		return progress.WriteJSON(env.Stdout, p)
	}
	return progress.WriteText(env.Stdout, p, time.Local)
}

type exportCommand struct {
	CSV  bool `help:"As CSV, a line for each answer (the default)." name:"csv" xor:"form"`
	JSON bool `help:"As JSON, with every field." name:"json" xor:"form"`
}

// Run writes every record kept.
func (c *exportCommand) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	if c.JSON {
		return exchange.ExportJSON(env.Stdout, d.History.All(ctx, ""))
	}
	return exchange.ExportCSV(env.Stdout, d.History.All(ctx, ""))
}
