package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"strop/drills"
	"strop/drills/progress"
	"strop/drills/tools"
	"strop/dsp"
	"strop/game/desk"
)

type textCommand struct {
	Material   string  `help:"A song: a file to practise on, or the name of a built-in piece. Without it, the one used last." placeholder:"FILE"`
	Trials     int     `help:"How many trials." default:"20"`
	Seed       *uint64 `help:"Makes the sitting repeatable."`
	Bands      string  `help:"How to answer: five, seven, ten, thirds or free. Without it, the hardest that is open to you." placeholder:"WAY"`
	Out        string  `help:"A folder: write each side of each trial there as a WAV file." placeholder:"DIR"`
	Transducer string  `help:"What you listen on: headphones, loudspeakers or unstated. Results are kept apart." enum:"headphones,loudspeakers,unstated" default:"unstated"`
	soundFlags `embed:""`
}

// Run is one sitting in the terminal.
func (c *textCommand) Run(ctx context.Context, env Env) error {
	if err := c.check(); err != nil {
		return usageError{err}
	}
	d, err := desk.Open(env.DataDir, env.Clock)
	if err != nil {
		return err
	}
	defer d.Close()
	if aside := d.History.Damaged(); aside != "" {
		fmt.Fprintf(env.Stdout, "The history was damaged. It was set aside as %s, and a new one begun.\n", aside)
	}
	in := newLines(ctx, env.Stdin)
	song, err := c.song(ctx, env, d, in)
	if err != nil {
		return err
	}
	defer song.Close()
	sound, err := c.open(env, song.Material.RateHz())
	if err != nil {
		return err
	}
	defer sound.Close()
	if err := setLevelOnce(ctx, env, d, sound, in); err != nil {
		return err
	}
	return c.practise(ctx, env, d, song, sound, in)
}

func (c *textCommand) check() error {
	if c.Trials < 1 || c.Trials > 1000 {
		return errors.New("--trials takes 1 to 1000")
	}
	if c.Bands == "" {
		return nil
	}
	tool, err := tools.Find(tools.Daily())
	if err != nil {
		return err
	}
	if _, err = tool.Rung(c.Bands); err != nil {
		return errors.New("--bands takes five, seven, ten, thirds or free")
	}
	return nil
}

// song opens what was asked for, or what was used last. A file that has moved
// is asked for.
func (c *textCommand) song(ctx context.Context, env Env, d *desk.Desk, in *lines) (*desk.Song, error) {
	if c.Material != "" {
		return desk.OpenNamed(ctx, c.Material)
	}
	song, lost, err := d.LastUsed(ctx)
	for err == nil && song == nil {
		fmt.Fprintf(env.Stdout, "%s is no longer there. Where is it now? (a path, or Enter for a built-in piece)\n", lost.Path)
		switch path := in.next(); path {
		case "", "q":
			song, err = desk.OpenBuiltIn(ctx, "")
		default:
			if song, err = desk.Reopen(ctx, *lost, path); err != nil {
				fmt.Fprintf(env.Stdout, "%s.\n", sentence(err))
				err = nil
			}
		}
	}
	return song, err
}

func (c *textCommand) practise(ctx context.Context, env Env, d *desk.Desk, song *desk.Song, sound *desk.Sound, in *lines) error {
	seed := env.Seed
	if c.Seed != nil {
		seed = *c.Seed
	}
	showDecoding(ctx, env, song)
	sitting, err := d.Sit(ctx, song, desk.Wish{
		Tool: tools.Daily(), Rung: c.Bands, Trials: c.Trials, Seed: seed,
		Condition: drills.Condition{Transducer: c.Transducer, Heard: "mix"},
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(env.Stdout, "%s, %s, from %s. %d trials on %s.\n",
		sitting.Tool.Title, sitting.Rung.Title, dsp.FormatDB(sitting.Level), c.Trials, song.Material.Name())
	drill := &textDrill{
		session: sitting.Session, rung: sitting.Rung, trials: c.Trials,
		ears: &speaker{sound: sound, folder: c.Out}, clock: env.Clock,
		in: in, out: env.Stdout, patient: env.Patient,
	}
	err = drill.run(ctx)
	if damage := song.Material.Err(); damage != nil {
		fmt.Fprintf(env.Stdout, "%s.\n", sentence(damage))
	}
	if err != nil {
		return err
	}
	if err := d.Remember(context.WithoutCancel(ctx), song); err != nil {
		return err
	}
	return summary(env, sitting)
}

// summary tells what the sitting showed.
func summary(env Env, s *desk.Sitting) error {
	records := s.Records()
	if len(records) == 0 {
		fmt.Fprintln(env.Stdout, "\nNo trial was answered.")
		return nil
	}
	fmt.Fprintln(env.Stdout)
	return progress.WriteText(env.Stdout, progress.Summarise(records, tools.Find, time.Local), time.Local)
}

// showDecoding tells how far decoding has come, a line each quarter, until
// the first loop can be heard.
func showDecoding(ctx context.Context, env Env, song *desk.Song) {
	ready := make(chan struct{})
	go func() {
		defer close(ready)
		_, _ = song.Clip(ctx, 0) // its error comes up again when a trial asks
	}()
	told := 0.0
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ready:
			return
		case <-tick.C:
			if share := song.DecodedShare(); share >= told+0.25 {
				told = share
				fmt.Fprintf(env.Stdout, "Opening %s: %.0f %%.\n", song.Material.Name(), 100*share)
			}
		}
	}
}
