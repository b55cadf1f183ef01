package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"strop/drills/exchange"
	"strop/game/desk"
)

type importCommand struct {
	File string `arg:"" help:"What strop export wrote, JSON or CSV; - for standard input."`
}

// Run keeps the answers of an export, each once however often it is imported,
// or none of them where anything is wrong.
func (c *importCommand) Run(ctx context.Context, env Env) error {
	file, err := c.open(env)
	if err != nil {
		return err
	}
	defer file.Close()
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	added, known, err := d.History.Import(ctx, exchange.Read(file))
	if errors.Is(err, context.Canceled) {
		return errors.New("stopped; nothing was imported")
	}
	if err != nil {
		return fmt.Errorf("nothing was imported: %w", err)
	}
	_, err = fmt.Fprintf(env.Stdout, "%d answers imported; %d were here already.\n", added, known)
	return err
}

func (c *importCommand) open(env Env) (io.ReadCloser, error) {
	if c.File == "-" {
		return io.NopCloser(env.Stdin), nil
	}
	file, err := os.Open(c.File)
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return nil, fmt.Errorf("%s cannot be read: %w", c.File, pathErr.Err)
	}
	return file, err
}
