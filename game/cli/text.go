package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"strop/drills"
	"strop/dsp"
)

// The sides that can be listened to, in the order in which a program for the
// player holds them.
const (
	untouched = iota
	changed
	mine
)

var sideNames = [...]string{"untouched", "changed", "mine"}

// A listener is where the sides of a trial are heard: the sound card, a
// folder of files, or both.
type listener interface {
	// Present offers the sides of a trial, and plays one of them from its start.
	Present(trial int, rateHz float64, sides [][]dsp.Frame, side int) error
	// Switch plays another side from the same place in the loop.
	Switch(side int)
	// Restart plays the current side from the start of the loop.
	Restart()
}

// textDrill is a sitting, line by line: nothing moves on the screen, nothing
// depends on colour, so that it can be read aloud, sent through ssh and run
// by a script.
type textDrill struct {
	session *drills.Session
	rung    drills.Rung
	trials  int
	ears    listener
	clock   drills.Clock
	in      *lines
	out     io.Writer
	patient bool // a person is typing: an answer needs the trial to have been heard
}

// lines is standard input, a line at a time.
type lines struct {
	ctx   context.Context // an interrupt ends the input
	lines chan string
	back  string // a line put back
}

func newLines(ctx context.Context, r io.Reader) *lines {
	l := &lines{ctx: ctx, lines: make(chan string)}
	go func() {
		defer close(l.lines)
		for scan := bufio.NewScanner(r); scan.Scan(); {
			l.lines <- scan.Text()
		}
	}()
	return l
}

// unread puts a line back, for next to return it.
func (l *lines) unread(line string) { l.back = line }

// next is the next line without white space around it. At the end of the
// input, and after an interrupt, it is "q".
func (l *lines) next() string {
	if line := l.back; line != "" {
		l.back = ""
		return line
	}
	select {
	case line, ok := <-l.lines:
		if ok {
			return strings.TrimSpace(line)
		}
	case <-l.ctx.Done():
	}
	return "q"
}

const textKeys = `  a number or a frequency (800, 2k5) answers; 0: nothing was changed
  u untouched   c changed   m mine, once you have answered   r from the start
  l the list of answers   ? these keys   q end; everything answered is kept`

// run asks until the last trial, "q" or the end of the input.
func (d *textDrill) run(ctx context.Context) error {
	fmt.Fprintln(d.out, textKeys)
	pending := ""
	for {
		round, err := d.session.Next(ctx)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		a, err := d.ask(round, pending)
		if err != nil || a.quit {
			return err
		}
		if pending, err = d.answer(ctx, round, a); err != nil || pending == "q" {
			return err
		}
	}
}

// given is an answer typed in, and how it came about.
type given struct {
	guess    dsp.Setting
	took     time.Duration
	switches int
	quit     bool
}

// ask presents a trial and reads lines until one answers it. pending is a
// line that was typed ahead.
func (d *textDrill) ask(round *drills.Round, pending string) (g given, err error) {
	fmt.Fprintf(d.out, "\nTrial %d of %d. %s.\n%s\n", round.Trial.Number, d.trials, round.Clip.Name, round.Question)
	d.list(d.rung.Title)
	sides := [][]dsp.Frame{round.Untouched, round.Changed}
	if err := d.ears.Present(round.Trial.Number, round.Trial.Loop.RateHz, sides, untouched); err != nil {
		return g, err
	}
	fmt.Fprintln(d.out, "Playing: untouched.")
	start, side := d.clock(), untouched
	for {
		line := pending
		if pending = ""; line == "" {
			line = d.in.next()
		}
		switch word := strings.ToLower(line); word {
		case "":
			d.ears.Restart()
		case "u", "c", "m", "r":
			if next := d.play(word, side, changed); next != side {
				side = next
				g.switches++
			}
		case "l":
			d.list("")
		case "?":
			fmt.Fprintln(d.out, textKeys)
		case "q":
			g.quit = true
			return g, nil
		default:
			if g.guess, err = d.session.Read(line); err != nil {
				fmt.Fprintf(d.out, "%s.\n", sentence(err))
				continue
			}
			g.took = d.clock().Sub(start)
			return g, nil
		}
	}
}

// play does what u, c, m and r ask, and returns the side that now plays.
// last is the highest side that there is.
func (d *textDrill) play(word string, side, last int) int {
	if word == "r" {
		d.ears.Restart()
		fmt.Fprintf(d.out, "From the start: %s.\n", sideNames[side])
		return side
	}
	next := strings.Index("ucm", word)
	if next > last {
		fmt.Fprintln(d.out, "Mine can be heard once you have answered.")
		return side
	}
	d.ears.Switch(next)
	fmt.Fprintf(d.out, "Playing: %s.\n", sideNames[next])
	return next
}

// list prints the answers offered: under title on one line, or one on each
// line where title is empty.
func (d *textDrill) list(title string) {
	if len(d.rung.Choices) == 0 {
		fmt.Fprintln(d.out, "Answer with a frequency from 20 Hz to 20 kHz, or 0: nothing was changed.")
		return
	}
	separator := "; "
	if title == "" {
		separator = "\n"
	}
	var items []string
	for i, c := range d.rung.Choices {
		items = append(items, fmt.Sprintf("%d: %s", i+1, c.Label))
	}
	fmt.Fprintln(d.out, strings.Join(append(items, "0: nothing was changed"), separator))
}

// answer grades and tells, then lets the sides be compared until an empty
// line, which goes on, or another answer, which is returned for the next
// trial.
func (d *textDrill) answer(ctx context.Context, round *drills.Round, g given) (pending string, err error) {
	o, err := d.session.Answer(ctx, drills.Given{Guess: g.guess, Took: g.took, Switches: g.switches})
	if o == nil {
		return "", err
	}
	if err != nil {
		fmt.Fprintf(d.out, "This answer could not be kept: %s.\n", sentence(err))
	}
	verdict := "Wrong. "
	if o.Record.Score.Right {
		verdict = "Right. "
	}
	fmt.Fprintln(d.out, verdict+o.Tell)
	if round.Trial.Number == d.trials {
		fmt.Fprintln(d.out, "Hear it: c the truth, m yours, u untouched. Enter ends.")
	} else {
		fmt.Fprintln(d.out, "Hear it: c the truth, m yours, u untouched. Enter for the next.")
	}
	return d.compare(round, o)
}

func (d *textDrill) compare(round *drills.Round, o *drills.Outcome) (pending string, err error) {
	sides := [][]dsp.Frame{round.Untouched, round.Changed, o.Mine}
	if err := d.ears.Present(round.Trial.Number, round.Trial.Loop.RateHz, sides, changed); err != nil {
		return "", err
	}
	side := changed
	for {
		line := d.in.next()
		switch word := strings.ToLower(line); word {
		case "":
			return "", nil
		case "u", "c", "m", "r":
			side = d.play(word, side, mine)
		case "?":
			fmt.Fprintln(d.out, textKeys)
		default:
			if d.patient && word != "q" {
				fmt.Fprintln(d.out, "Press Enter to hear the next trial first.")
				continue
			}
			return line, nil
		}
	}
}

// sentence is an error as a sentence: its first letter large, no full stop.
func sentence(err error) string {
	text := err.Error()
	return strings.ToUpper(text[:1]) + text[1:]
}
