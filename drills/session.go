package drills

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"time"

	"strop/dsp"
	"strop/dsp/measure"
)

// Config is everything a session depends on: the same Config and the same
// answers give the same trials, sounds and scores on every machine.
type Config struct {
	ID      string // of the sitting
	Planner Planner
	Trials  int // how many are asked
	Seed    uint64
	Clips   Clips
	Rotate  Rotation
	Store   Store
	Clock   Clock
}

// Session is one sitting: Next, Answer, Next, Answer, until Next returns
// io.EOF. It is used by one goroutine.
type Session struct {
	cfg     Config
	open    *Round // asked and not yet answered
	heard   []int  // for each loop, the trial that played it last; -1 for never
	recent  []item
	records []Record
	meter   audibility
	known   known
	reach   map[string]float64 // by drill: dB of excitation for a level of 1 on the ladder, as last found
}

// Round is a trial ready to be heard: its sides are of equal length, and
// repeat without a seam.
type Round struct {
	Trial     Trial
	Tool      Tool
	Rung      Rung // with the choices of this trial
	Clip      Clip
	Question  string
	Start     dsp.Setting // where the knobs stand when they are first heard; nil where nothing is turned
	Untouched []dsp.Frame
	Changed   []dsp.Frame
	Solo      [2][]dsp.Frame // what the trial is about, alone: untouched and changed; nil where it is the whole mix

	loop int     // index of the clip
	solo []int   // the stems that it is about
	lufs float64 // of every side; where level is asked, the gain of every side in dB

	aloneLUFS float64 // of what the trial is about, alone, as it is in the mix
}

// Outcome is a trial answered.
type Outcome struct {
	Record   Record
	Tell     string      // the truth and the guess, in the tool's units
	Mine     []dsp.Frame // the loop changed as the listener said; where a change was to be undone, what is left of it
	MineSolo []dsp.Frame // of that, what the trial is about, alone; nil where that is all that is heard
}

// NewSession starts a sitting. The error tells what Config lacks.
func NewSession(cfg Config) (*Session, error) {
	if cfg.Planner == nil || cfg.Clips == nil || cfg.Store == nil || cfg.Rotate == nil || cfg.Clock == nil || cfg.Trials < 1 {
		return nil, errors.New("a session needs a plan, loops and how they rotate, a store, a clock and at least one trial")
	}
	return &Session{cfg: cfg, reach: map[string]float64{}}, nil
}

// Records are the trials answered so far.
func (s *Session) Records() []Record { return s.records }

// Next prepares the next trial. It returns io.EOF after the last one, and an
// error where the material cannot show what the drill asks.
func (s *Session) Next(ctx context.Context) (*Round, error) {
	if s.open != nil {
		return nil, errors.New("the trial before has not been answered")
	}
	number := len(s.records) + 1
	if number > s.cfg.Trials {
		return nil, io.EOF
	}
	a := s.cfg.Planner.Next(number)
	if err := a.Tool.Validate(); err != nil {
		return nil, err
	}
	seed := rand.NewPCG(s.cfg.Seed, uint64(number)).Uint64()
	round, err := s.prepare(ctx, a, number, rand.New(rand.NewPCG(seed, 0)))
	if err != nil {
		return nil, err
	}
	round.Trial.Seed = seed
	s.open = round
	s.note(round)
	return round, nil
}

// Read understands a typed answer to the open trial: "0" or "nothing" for
// nothing was changed, where that is an answer, else what the drill
// understands.
func (s *Session) Read(text string) (dsp.Setting, error) {
	round := s.open
	if round == nil {
		return nil, errors.New("no trial is open")
	}
	switch word := strings.ToLower(strings.TrimSpace(text)); {
	case word == "nothing", word == "0" && round.Tool.NothingShare > 0:
		if round.Tool.NothingShare == 0 {
			return nil, errors.New("something was changed: nothing is no answer here")
		}
		return dsp.Setting{}, nil
	}
	return round.Tool.Read(round.Rung, round.Trial.Asked, text)
}

// Given is an answer, and how it came about.
type Given struct {
	Guess    dsp.Setting   // empty: nothing was changed
	Intent   dsp.Setting   // what was meant before the tool was touched; nil where that was not asked
	Took     time.Duration // from first sound to answer
	Switches int
	Solo     time.Duration // listened alone
}

// Answer grades a guess and keeps the record. The Outcome is valid even where
// the error says that it could not be kept.
func (s *Session) Answer(ctx context.Context, g Given) (*Outcome, error) {
	round := s.open
	if round == nil {
		return nil, errors.New("no trial is open")
	}
	for _, set := range []dsp.Setting{g.Guess, g.Intent} {
		if err := set.Check(round.Tool.Params); err != nil {
			return nil, err
		}
	}
	score := round.Tool.Grade(round.Rung, round.Trial.Truth, g.Guess)
	mine, err := s.mine(round, g.Guess, &score)
	if err != nil {
		return nil, err
	}
	record := Record{
		At: s.cfg.Clock(), Trial: round.Trial, Score: score,
		Answer: Answer{Guess: g.Guess, Intent: g.Intent, TookS: g.Took.Seconds(), Switches: g.Switches, SoloS: g.Solo.Seconds()},
	}
	s.open = nil
	s.records = append(s.records, record)
	s.cfg.Planner.Told(record)
	return &Outcome{
		Record: record, Tell: round.tell(g.Guess, score), Mine: mine.whole, MineSolo: mine.solo(),
	}, s.cfg.Store.Append(ctx, record)
}

// tell is the tool's own sentence and, where a tool was turned, what remains.
func (round *Round) tell(guess dsp.Setting, score Score) string {
	text := round.Tool.Tell(round.Rung, round.Trial.Truth, guess)
	remainsDB, ok := score.Errors[RemainsDB]
	switch {
	case !ok:
		return text
	case remainsDB < leastAudibleDB:
		return text + " No difference is left to hear."
	}
	return fmt.Sprintf("%s The difference left to hear is %.1f dB; it began at %.1f dB.", text, remainsDB, round.Trial.AudibleDB)
}

// Try is the open trial with a guess upon it, as mine will be, for a tool that
// is turned while it sounds; and what the trial is about alone, nil where that
// is all that is heard.
func (s *Session) Try(guess dsp.Setting) (whole, solo []dsp.Frame, err error) {
	if s.open == nil {
		return nil, nil, errors.New("no trial is open")
	}
	if err := guess.Check(s.open.Tool.Params); err != nil {
		return nil, nil, err
	}
	m, err := s.mine(s.open, guess, nil)
	if err != nil {
		return nil, nil, err
	}
	return m.whole, m.solo(), nil
}

// RemainsDB is the error, in dB of excitation, that is kept of every attempt
// to undo a change or to match it: what can still be heard of the difference.
const RemainsDB = "remainsDB"

// matchedDB is how far a match may be off and is not heard to be: see
// leastAudibleDB.
const matchedDB = 1.0

// mine is the third side, the loop as the listener said. Where a change was to
// be undone or matched, score is told what is left of it.
func (s *Session) mine(round *Round, guess dsp.Setting, score *Score) (*side, error) {
	t, tool := round.Trial, round.Tool
	inserts, err := tool.Change(round.Clip, t.Stem, guess)
	if tool.Mend != nil {
		inserts, err = tool.Mend(round.Clip, t.Stem, t.Truth, guess)
	}
	if err != nil {
		return nil, err
	}
	stems, err := loaded(round.Clip, union(round.solo, stemsOf(0, inserts)))
	if err != nil {
		return nil, err
	}
	rateHz := round.Clip.Loop.RateHz
	m := &side{mixdown: mixed(round.Clip, t.Condition.Heard, round.solo, inserts, stems)}
	if !tool.LevelAsked && t.Stem > 0 {
		m.hold(round.aloneLUFS, rateHz)
	}
	var ear *measure.AudibilityMeter
	if tool.Turned() && score != nil {
		s.meter.prepare(rateHz)
		ear = s.meter.ears[toChanged]
	}
	m.measured = measureWith(ear, m.whole, rateHz)
	if err := m.check(round.Clip.Name); err != nil {
		return nil, err
	}
	if tool.LevelAsked {
		m.apply(min(round.lufs, PlayLUFS-t.RoveDB-m.lufs, CeilingDBTP-m.dbtp))
	} else {
		m.apply(min(round.lufs-m.lufs, CeilingDBTP-m.dbtp))
	}
	if ear != nil {
		target := s.measureUntouched(round.target(), rateHz).excitation
		remainsDB := s.meter.between(target, m.excitation, m.gainDB, tool.Brief)
		if score.Errors == nil {
			score.Errors = map[string]float64{}
		}
		score.Errors[RemainsDB] = remainsDB
		score.Right = score.Right || tool.Match && len(guess) > 0 && remainsDB < matchedDB
	}
	return m, nil
}

// target is the side that a tool that is turned should come out as.
func (round *Round) target() []dsp.Frame {
	if round.Tool.Match {
		return round.Changed
	}
	return round.Untouched
}

// unfit is a draw that the loop cannot show.
type unfit struct{ error }

func (u unfit) Unwrap() error { return u.error }

// cannot says that a loop does not show what is asked of it.
func cannot(format string, args ...any) error { return unfit{fmt.Errorf(format, args...)} }
