package cli

import (
	"context"
	"time"

	"strop/game/desk"
)

type levelCommand struct {
	soundFlags `embed:""`
}

// levelRateHz is the rate at which noise is played where the sound card has
// it.
const levelRateHz = 48000

// Run plays the level noise until a line is entered.
func (c *levelCommand) Run(ctx context.Context, env Env) error {
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	sound, err := c.open(env, levelRateHz)
	if err != nil {
		return err
	}
	defer sound.Close()
	if err := sound.Err(); err != nil {
		return err
	}
	if err := playLevel(env, sound, newLines(ctx, env.Stdin)); err != nil {
		return err
	}
	return d.History.Put(ctx, levelSet, env.Clock().UTC().Format(time.RFC3339))
}
