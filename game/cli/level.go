package cli

import (
	"context"
	"fmt"
	"time"

	"strop/drills"
	"strop/game/desk"
	"strop/game/player"
	"strop/game/prefs"
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
	if err := keepLevel(ctx, d, sound); err != nil {
		return err
	}
	if err := playLevel(env, sound, newLines(ctx, env.Stdin)); err != nil {
		return err
	}
	return d.History.Put(ctx, levelSet, env.Clock().UTC().Format(time.RFC3339))
}

// keepLevel plays everything as far down as it was set in the window.
func keepLevel(ctx context.Context, d *desk.Desk, sound *desk.Sound) error {
	p, err := prefs.Load(ctx, d.History)
	if err != nil {
		return err
	}
	return sound.Player.SetLevelDB(p.LevelDB)
}

// levelSet is the setting that remembers when the level was set.
const levelSet = "levelSetAt"

// setLevelOnce is the first-run step: noise to set the level by. It takes an
// empty line; anything else that was typed is left for the first trial.
func setLevelOnce(ctx context.Context, env Env, d *desk.Desk, sound *desk.Sound, in *lines) error {
	if err := keepLevel(ctx, d, sound); err != nil {
		return err
	}
	_, set, err := d.History.Get(ctx, levelSet)
	if err != nil || set || sound.Err() != nil {
		fmt.Fprintln(env.Stdout, shortCaution)
		return err
	}
	if err := playLevel(env, sound, in); err != nil {
		return err
	}
	return d.History.Put(ctx, levelSet, env.Clock().UTC().Format(time.RFC3339))
}

const shortCaution = "Loud sound harms hearing: start low, set the level once, take breaks. strop is no hearing test."

func playLevel(env Env, sound *desk.Sound, in *lines) error {
	noise, err := player.LevelNoise(sound.Player.RateHz(), drills.PlayLUFS, 1)
	if err != nil {
		return err
	}
	fmt.Fprintln(env.Stdout, player.Caution)
	fmt.Fprintln(env.Stdout, "Pink noise is playing. Press Enter when the level is set.")
	if err := sound.Player.Play(noise, 0); err != nil {
		return err
	}
	if line := in.next(); line != "" {
		in.unread(line)
	}
	sound.Player.Stop()
	return nil
}
