package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"strop/drills"
	"strop/drills/progress"
	"strop/drills/tools"
	"strop/dsp"
	"strop/game/desk"
)

type textCommand struct {
	Material   string  `help:"A song to practise on: a file, a folder of stems, or the name of a built-in piece, of a material or of a collection (strop material list). Without it, the one used last." placeholder:"NAME"`
	Trials     int     `help:"How many trials of one drill." default:"20"`
	Minutes    int     `help:"Follow the plan of the day for so many minutes (strop plan shows it), instead of one drill." placeholder:"N"`
	Seed       *uint64 `help:"Makes the sitting repeatable."`
	Drill      string  `help:"What is asked: the ID of a drill (strop drills lists them). Without it, EQ bands." placeholder:"ID"`
	Way        string  `help:"How to answer (strop drills lists the ways). Without it, the hardest that is open to you." placeholder:"WAY"`
	Alone      bool    `help:"Hear the stem that is asked about by itself, not in the mix: easier. Results are kept apart."`
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
	if held := d.History.Held(); held != nil {
		fmt.Fprintf(env.Stdout, "%s. Your answers are held in memory, and saved to a file at the end.\n", sentence(held))
	}
	defer rescue(env, d)
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

// rescue saves the answers that the history did not take.
func rescue(env Env, d *desk.Desk) {
	told, err := d.Rescue()
	if err != nil {
		told = err.Error() + "."
	}
	if told != "" {
		fmt.Fprintln(env.Stdout, capital(told))
	}
}

func (c *textCommand) check() error {
	if c.Trials < 1 || c.Trials > 1000 {
		return errors.New("--trials takes 1 to 1000")
	}
	if c.Minutes < 0 || c.Minutes > 600 || c.Minutes > 0 && c.Drill != "" {
		return errors.New("--minutes takes 1 to 600, and no --drill beside it")
	}
	tool, err := tools.Find(cmp.Or(c.drill(), tools.Daily()))
	if err != nil || c.Way == "" {
		return err
	}
	if _, err = tool.Rung(c.Way); err != nil {
		return fmt.Errorf("--way: %s can be answered by %s", tool.ID, wayNames(tool))
	}
	return nil
}

// drill is the drill that is asked; "" for the plan of the day.
func (c *textCommand) drill() string {
	if c.Drill == "" && c.Minutes == 0 {
		return tools.Daily()
	}
	return c.Drill
}

func wayNames(t drills.Tool) string {
	names := make([]string, len(t.Rungs))
	for i, r := range t.Rungs {
		names[i] = r.ID
	}
	return strings.Join(names, ", ")
}

// condition is what the results hold for.
func (c *textCommand) condition() drills.Condition {
	if c.Alone {
		return drills.Condition{Transducer: c.Transducer, Heard: drills.Alone}
	}
	return drills.Condition{Transducer: c.Transducer, Heard: drills.InMix}
}

// song opens what was asked for, or what was used last. A file that has moved
// is asked for.
func (c *textCommand) song(ctx context.Context, env Env, d *desk.Desk, in *lines) (*desk.Song, error) {
	if c.Material != "" {
		return d.OpenNamed(ctx, c.Material)
	}
	song, lost, err := d.LastUsed(ctx)
	for err == nil && song == nil {
		fmt.Fprintf(env.Stdout, "%s is no longer there. Where is it now? (a path, or Enter for a built-in piece)\n", lost.Path)
		switch path := in.next(); path {
		case "", "q":
			song, err = d.OpenBuiltIn(ctx, "")
		default:
			if song, err = d.Reopen(ctx, *lost, path); err != nil {
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
		Tool: c.drill(), Rung: c.Way, Trials: c.Trials, Minutes: c.Minutes, Seed: seed, Condition: c.condition(),
	})
	if err != nil {
		return err
	}
	if c.Minutes > 0 {
		fmt.Fprintf(env.Stdout, "The plan of the day: %d trials on %s.\n", sitting.Trials, song.Material.Name())
	} else {
		fmt.Fprintf(env.Stdout, "%s, %s, %s. %d trials on %s.\n",
			sitting.Tool.Title, sitting.Rung.Title, levelText(sitting.Tool.Level, sitting.Level), sitting.Trials, song.Material.Name())
	}
	drill := &textDrill{
		session: sitting.Session, trials: sitting.Trials,
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

// levelText is where on its ladder a drill starts.
func levelText(p dsp.Param, level float64) string {
	return strings.TrimSpace(fmt.Sprintf("%s from %.3g %s", p.Name, level, p.Unit))
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
