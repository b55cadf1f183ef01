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
	trials  int
	ears    listener
	clock   drills.Clock
	in      *lines
	out     io.Writer
	began   time.Time
	rested  bool // a break was spoken of
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

const textKeys = `  a number or a value (800, 2k5, -3 dB) answers; 0: nothing was changed, where that is an answer
  u untouched   c changed   m mine, once you have answered   r from the start
  s the stem that is asked about alone, and back; its time is kept
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

// asked is a trial being answered: what was given so far, and what sounds.
type asked struct {
	drills.Given
	round *drills.Round
	begun time.Time
	side  int
	solo  bool
	since time.Time   // the solo began
	turns dsp.Setting // where the knobs stand; nil before the first turn
	quit  bool
}

// ask presents a trial and reads lines until one answers it. pending is a
// line that was typed ahead.
func (d *textDrill) ask(round *drills.Round, pending string) (a *asked, err error) {
	fmt.Fprintf(d.out, "\nTrial %d of %d. %s.\n%s\n", round.Trial.Number, d.trials, round.Clip.Name, round.Question)
	d.remind()
	d.list(round, round.Rung.Title)
	if err := d.ears.Present(round.Trial.Number, round.Trial.Loop.RateHz, [][]dsp.Frame{round.Untouched, round.Changed}, untouched); err != nil {
		return nil, err
	}
	fmt.Fprintln(d.out, "Playing: untouched.")
	a = &asked{round: round, begun: d.clock(), side: untouched}
	for {
		line := pending
		if pending = ""; line == "" {
			line = d.in.next()
		}
		switch done, err := d.hear(a, line); {
		case err != nil:
			return nil, err
		case done:
			a.Took = d.clock().Sub(a.begun)
			d.endSolo(a)
			return a, nil
		}
	}
}

// withoutBreak is how long anyone should practise in one go: ITU-R BS.1116 sets
// a listening session to 20 to 30 minutes (second-hand).
const withoutBreak = 30 * time.Minute

// remind speaks of a break, once.
func (d *textDrill) remind() {
	now := d.clock()
	if d.began.IsZero() {
		d.began = now
	}
	if !d.rested && now.Sub(d.began) >= withoutBreak {
		d.rested = true
		fmt.Fprintln(d.out, "You have listened for 30 minutes: a break does the ears good. Stop at ringing, muffled hearing or pain.")
	}
}

// hear does what a line asks before the answer, and reports whether the trial
// is over.
func (d *textDrill) hear(a *asked, line string) (done bool, err error) {
	switch word := strings.ToLower(line); word {
	case "":
		d.ears.Restart()
	case "u", "c", "m", "r":
		last := changed
		if a.turns != nil {
			last = mine
		}
		if next := d.play(word, a.side, last); next != a.side {
			a.side = next
			a.Switches++
		}
	case "s":
		return false, d.alone(a)
	case "l":
		d.list(a.round, "")
	case "?":
		fmt.Fprintln(d.out, textKeys)
	case "q":
		a.quit = true
		return true, nil
	default:
		return d.take(a, line)
	}
	return false, nil
}

// take takes an answer; where a tool is turned, first what is meant, then each
// turn, until "ok".
func (d *textDrill) take(a *asked, line string) (done bool, err error) {
	knobs := a.round.Rung.Surface == drills.Knobs
	if knobs && a.turns != nil && strings.EqualFold(line, "ok") {
		a.Guess = a.turns
		return true, nil
	}
	guess, err := d.session.Read(line)
	if err != nil {
		fmt.Fprintf(d.out, "%s.\n", sentence(err))
		return false, nil
	}
	if !knobs || len(guess) == 0 {
		a.Guess = guess
		return true, nil
	}
	if a.Intent == nil {
		a.Intent, guess = guess, a.round.Start
		fmt.Fprintln(d.out, "That is what you mean. The tool stands elsewhere; turn until it is right, then ok.")
	}
	return false, d.turn(a, guess)
}

// turn lets the tool be heard as it was turned.
func (d *textDrill) turn(a *asked, guess dsp.Setting) error {
	frames, _, err := d.session.Try(guess)
	if err != nil {
		return err
	}
	a.turns, a.side = guess, mine
	sides := [][]dsp.Frame{a.round.Untouched, a.round.Changed, frames}
	fmt.Fprintf(d.out, "Playing: mine, %s.\n", knobsText(a.round.Tool.Knobs(), guess))
	return d.ears.Present(a.round.Trial.Number, a.round.Trial.Loop.RateHz, sides, mine)
}

// alone goes over to the stem that is asked about, and back.
func (d *textDrill) alone(a *asked) error {
	round := a.round
	if round.Solo[0] == nil {
		fmt.Fprintln(d.out, "Nothing else is playing.")
		return nil
	}
	sides := [][]dsp.Frame{round.Untouched, round.Changed}
	if a.solo {
		d.endSolo(a)
	} else {
		a.solo, a.since, sides = true, d.clock(), round.Solo[:]
	}
	a.side = min(a.side, changed)
	fmt.Fprintf(d.out, "Playing: %s%s. Alone so far: %.0f s.\n", sideNames[a.side], map[bool]string{true: ", alone"}[a.solo], a.Solo.Seconds())
	return d.ears.Present(round.Trial.Number, round.Trial.Loop.RateHz, sides, a.side)
}

func (d *textDrill) endSolo(a *asked) {
	if a.solo {
		a.Solo += d.clock().Sub(a.since)
		a.solo = false
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

// answer grades and tells, then lets the sides be compared until an empty
// line, which goes on, or another answer, which is returned for the next
// trial.
func (d *textDrill) answer(ctx context.Context, round *drills.Round, a *asked) (pending string, err error) {
	o, err := d.session.Answer(ctx, a.Given)
	if o == nil {
		return "", err
	}
	if err != nil {
		fmt.Fprintf(d.out, "%s.\n", sentence(err))
	}
	if !round.Trial.Kind.Told() {
		fmt.Fprintln(d.out, "Kept. This one is not told.")
		return "", nil
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
func sentence(err error) string { return capital(err.Error()) }

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }
