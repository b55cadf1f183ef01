// Package cli is the command line of strop: what each command takes, and the
// wiring from there to the packages that do the work. One command, one file.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"

	"github.com/alecthomas/kong"

	"strop/drills"
)

// Exit codes.
const (
	done       = 0
	worldWrong = 1 // a file, a device or the store is not as it should be
	callWrong  = 2 // the call itself cannot be understood
)

// Env is what a command gets from outside.
type Env struct {
	Stdin   io.Reader
	Stdout  io.Writer
	Stderr  io.Writer
	DataDir string       // holds the history; made when first written to
	Clock   drills.Clock // the time now
	Seed    uint64       // of a sitting that is given none
	Patient bool         // a person types on Stdin
	Display bool         // there is a display to open a window on
	Window  string       // the program that does; "": it is not there
}

// commands is the whole command line.
type commands struct {
	Text     textCommand     `cmd:"" help:"Practise line by line in the terminal."`
	Drills   drillsCommand   `cmd:"" help:"List the drills: what each asks, how hard it gets, how it is answered."`
	Skills   skillsCommand   `cmd:"" help:"Tell the smallest change you hear reliably, skill by skill."`
	Render   renderCommand   `cmd:"" help:"Apply changes to a file and write the result."`
	Measure  measureCommand  `cmd:"" help:"Measure the loudness, peaks and spectrum of a file."`
	Material materialCommand `cmd:"" help:"The songs to practise on: list, add, check, tag, collect or forget them."`
	Plan     planCommand     `cmd:"" help:"Lay out today's practice, with the reason for each part."`
	Progress progressCommand `cmd:"" help:"Show what your answers tell, by band and by day."`
	Export   exportCommand   `cmd:"" help:"Write every answer kept, as CSV or JSON."`
	Import   importCommand   `cmd:"" help:"Keep the answers that an export holds, each once."`
	Level    levelCommand    `cmd:"" help:"Play noise to set the listening level once."`
	Simulate simulateCommand `cmd:"" help:"Try the practice engine on simulated listeners."`
	Doctor   doctorCommand   `cmd:"" help:"Say what was found: sound, display, store, formats, versions."`
}

const about = `strop keeps a mix engineer's ears sharp: a few honest strokes a day.

Loud sound harms hearing: start low, set the level once, take breaks. strop is no hearing test.`

// usageError is a call that cannot be understood.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// Main runs one command and returns the exit code. Every failure is one
// sentence on Stderr.
func Main(args []string, env Env) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := run(ctx, args, env)
	switch {
	case err == nil:
		return done
	case errors.As(err, new(usageError)):
		fmt.Fprintf(env.Stderr, "strop: %v (strop --help tells more)\n", err)
		return callWrong
	}
	fmt.Fprintf(env.Stderr, "strop: %v\n", err)
	return worldWrong
}

func run(ctx context.Context, args []string, env Env) error {
	var c commands
	helped := false
	parser, err := kong.New(&c,
		kong.Name("strop"), kong.Description(about), kong.Writers(env.Stdout, env.Stderr),
		kong.Exit(func(int) { helped = true }), kong.UsageOnError(),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(env),
	)
	if err != nil {
		return err
	}
	if len(args) == 0 {
		if ran, err := openWindow(env); ran || err != nil {
			return err
		}
		args = []string{"text"}
	}
	call, err := parser.Parse(args)
	switch {
	case helped:
		return nil
	case err != nil:
		return usageError{err}
	}
	return call.Run()
}

// SystemEnv is the Env of a real process. dataDir holds the history.
func SystemEnv(dataDir string) Env {
	return Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		DataDir: dataDir,
		Clock:   time.Now,
		Seed:    uint64(time.Now().UnixNano()),
		Patient: isTerminal(os.Stdin),
		Display: hasDisplay(),
		Window:  siblingWindow(),
	}
}

// isTerminal reports whether a person may be typing into f.
func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
