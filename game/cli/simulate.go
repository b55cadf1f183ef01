package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// simulateCommand tries the practice engine on simulated listeners.
type simulateCommand struct {
	Precision precisionCommand `cmd:"" help:"How close each way of measuring comes to a threshold, after how many trials."`
	Coverage  coverageCommand  `cmd:"" help:"How often a 90 % interval holds the threshold of a steady listener, and of one who learns."`
	Policy    policyCommand    `cmd:"" help:"What each way to train teaches a panel of learners."`
	Verdict   verdictCommand   `cmd:"" help:"Who passes the self-test: the honest, and those who answer by tricks."`
}

// simulationFlags are those of every experiment.
type simulationFlags struct {
	Runs int    `help:"Simulated listeners for each row." placeholder:"N" default:"${runs}"`
	Seed uint64 `help:"The same seed gives the same figures on any number of processors." default:"1"`
	JSON bool   `help:"Print the rows as JSON." name:"json"`
}

// mostListeners is how many one call may ask for: what became of each is held
// in memory until the end.
const mostListeners = 5_000_000

// checkRuns refuses numbers of runs that no computer could do, or that are none.
func (f simulationFlags) checkRuns(rows int) error {
	if most := mostListeners / max(rows, 1); f.Runs < 1 || f.Runs > most {
		return usageError{fmt.Errorf("--runs takes 1 to %d with these choices, not %d", most, f.Runs)}
	}
	return nil
}

// simulate runs an experiment with a bar on a terminal, and prints its rows:
// as JSON, or as a table with its columns named.
func simulate[Row any](ctx context.Context, env Env, f simulationFlags, run func(skill.Progress) ([]Row, error), columns string, line func(Row) []any) error {
	bar := newBar(env)
	rows, err := run(bar.show)
	bar.clear()
	switch {
	case errors.Is(err, context.Canceled):
		return errors.New("stopped before the last run, so there are no figures")
	case err != nil:
		return usageError{err}
	case f.JSON:
		return printJSON(env.Stdout, rows)
	}
	table := tabwriter.NewWriter(env.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, strings.ReplaceAll(columns, ", ", "\t"))
	for _, r := range rows {
		fmt.Fprintln(table, strings.Join(cells(line(r)), "\t"))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	_, err = fmt.Fprintf(env.Stdout, "\n%d listeners a row, seed %d. ± is one Monte-Carlo standard error. Simulated listeners only; nobody was measured.\n", f.Runs, f.Seed)
	return err
}

// plusMinus is a figure and its Monte-Carlo error.
type plusMinus struct{ value, error float64 }

// share is a part of 1, nil where a method tells none.
type share struct{ *float64 }

// short is a setting of the experiment, not a result.
type short float64

func cells(values []any) (out []string) {
	for _, v := range values {
		switch v := v.(type) {
		case plusMinus:
			out = append(out, fmt.Sprintf("%.3f ± %.3f", v.value, v.error))
		case share:
			if v.float64 == nil {
				out = append(out, "none")
			} else {
				out = append(out, fmt.Sprintf("%.3f", *v.float64))
			}
		case short:
			out = append(out, fmt.Sprintf("%g", float64(v)))
		case float64:
			out = append(out, fmt.Sprintf("%.3f", v))
		default:
			out = append(out, fmt.Sprint(v))
		}
	}
	return out
}

// bar shows on a terminal how far an experiment has come; anywhere else it
// shows nothing.
type bar struct {
	to    io.Writer // nil: nowhere
	clock drills.Clock
	began time.Time
	next  time.Time // when it is drawn again
}

func newBar(env Env) *bar {
	b := &bar{clock: env.Clock}
	if f, ok := env.Stderr.(*os.File); ok && isTerminal(f) {
		b.to, b.began = f, env.Clock()
	}
	return b
}

const barWidth = 30

func (b *bar) show(done, of int) {
	if b.to == nil {
		return
	}
	now := b.clock()
	if now.Before(b.next) {
		return
	}
	b.next = now.Add(200 * time.Millisecond)
	fmt.Fprint(b.to, "\r", drawn(done, of, now.Sub(b.began)), "\x1b[K")
}

// drawn is a bar with its share and about how long the rest takes, if it
// goes on as it did. Of done there is at least one.
func drawn(done, of int, passed time.Duration) string {
	left := time.Duration(float64(passed) * float64(of-done) / float64(done))
	full := barWidth * done / of
	return fmt.Sprintf("%s%s %3d %%, %v left ", strings.Repeat("#", full), strings.Repeat("·", barWidth-full), 100*done/of, left.Round(time.Second))
}

func (b *bar) clear() {
	if b.to != nil {
		fmt.Fprint(b.to, "\r\x1b[K")
	}
}

// listenerFlags are the listeners that ways of measuring are tried on.
type listenerFlags struct {
	Slope  []float64 `help:"Slopes of the listeners, 0.5 to 10." default:"2,3.5"`
	Lapse  []float64 `help:"Shares that they miss at any level, 0 to 0.15." default:"0.02,0.06"`
	Trials []int     `help:"After how many trials, 1 to 10000." default:"20,30,40,60,100,120"`
}

func (f listenerFlags) checkListeners() error {
	switch {
	case !all(f.Slope, func(v float64) bool { return v >= .5 && v <= 10 }):
		return usageError{fmt.Errorf("--slope takes numbers from 0.5 to 10, not %v", f.Slope)}
	case !all(f.Lapse, func(v float64) bool { return v >= 0 && v <= .15 }):
		return usageError{fmt.Errorf("--lapse takes shares from 0 to 0.15, not %v", f.Lapse)}
	case !all(f.Trials, func(n int) bool { return n >= 1 && n <= 10000 }):
		return usageError{fmt.Errorf("--trials takes whole numbers from 1 to 10000, not %v", f.Trials)}
	}
	return nil
}

// all reports whether there are values and each is as wanted.
func all[T any](values []T, wanted func(T) bool) bool {
	for _, v := range values {
		if !wanted(v) {
			return false
		}
	}
	return len(values) > 0
}

// errorOfShare is the Monte-Carlo error of a share of n.
func errorOfShare(share float64, n int) float64 { return math.Sqrt(share * (1 - share) / float64(n)) }
