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
	ID           string // of the sitting
	Tool         Tool
	Rung         Rung
	Condition    Condition
	Trials       int     // how many are asked
	NothingShare float64 // share of the trials in which nothing is changed, 0 to 1
	Seed         uint64
	Clips        Clips
	Store        Store
	Tracker      Tracker
	Clock        Clock
}

// Session is one sitting: Next, Answer, Next, Answer, until Next returns
// io.EOF. It is used by one goroutine.
type Session struct {
	cfg     Config
	open    *Round // asked and not yet answered
	last    int    // the loop of the trial before
	records []Record
}

// Round is a trial ready to be heard: its sides are of equal length and equal
// loudness, and repeat without a seam.
type Round struct {
	Trial     Trial
	Clip      Clip
	Question  string
	Untouched []dsp.Frame
	Changed   []dsp.Frame
	loop      int     // index of the clip
	lufs      float64 // of every side
}

// Outcome is a trial answered.
type Outcome struct {
	Record Record
	Tell   string      // the truth and the guess, in the tool's units
	Mine   []dsp.Frame // the loop changed as the listener said
}

// NewSession starts a sitting. The error tells what Config lacks.
func NewSession(cfg Config) (*Session, error) {
	if err := cfg.Tool.Validate(); err != nil {
		return nil, err
	}
	if _, err := cfg.Tool.Rung(cfg.Rung.ID); err != nil {
		return nil, err
	}
	if cfg.Clips == nil || cfg.Store == nil || cfg.Tracker == nil || cfg.Clock == nil || cfg.Trials < 1 {
		return nil, errors.New("a session needs loops, a store, a tracker, a clock and at least one trial")
	}
	return &Session{cfg: cfg}, nil
}

// Records are the trials answered so far.
func (s *Session) Records() []Record { return s.records }

// maxDraws is how often a trial is drawn anew before the material is given
// up as unable to show the drill.
const maxDraws = 60

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
	seed := rand.NewPCG(s.cfg.Seed, uint64(number)).Uint64()
	r := rand.New(rand.NewPCG(seed, 0))
	var refused error
	for range maxDraws {
		round, err := s.draw(ctx, r, number)
		switch {
		case err == nil:
			round.Trial.Seed = seed
			s.open, s.last = round, round.loop
			return round, nil
		case !errors.As(err, new(unfit)):
			return nil, err
		}
		refused = err
	}
	return nil, fmt.Errorf("this material cannot show the drill: %w", refused)
}

// unfit is a draw that the loop cannot show.
type unfit struct{ error }

// draw makes one trial, or says that it is unfit.
func (s *Session) draw(ctx context.Context, r *rand.Rand, number int) (*Round, error) {
	loop, clip, err := s.pick(ctx, r, number)
	if err != nil {
		return nil, err
	}
	level := s.cfg.Tracker.Level()
	asked := s.cfg.Tool.Ask(r, s.cfg.Rung, level)
	nothing := r.Float64() < s.cfg.NothingShare
	if err := s.cfg.Tool.Shows(clip.Facts, asked); err != nil {
		return nil, unfit{err}
	}
	t := Trial{
		Session: s.cfg.ID, Number: number, Tool: s.cfg.Tool.ID, Rung: s.cfg.Rung.ID,
		Condition: s.cfg.Condition, Level: level, Loop: clip.Loop, Asked: asked, Truth: asked,
	}
	if nothing {
		t.Truth = dsp.Setting{}
	}
	round, err := s.render(t, clip)
	if err == nil {
		round.loop = loop
	}
	return round, err
}

// pick chooses a loop: the first for the first trial, so that it can sound
// before the material is whole, then any but the one just heard.
func (s *Session) pick(ctx context.Context, r *rand.Rand, number int) (i int, clip Clip, err error) {
	if number > 1 {
		count, err := s.cfg.Clips.Count(ctx)
		if err != nil {
			return 0, Clip{}, err
		}
		i = otherThan(s.last, count, r)
	}
	clip, err = s.cfg.Clips.Clip(ctx, i)
	return i, clip, err
}

// otherThan draws one of n, each as likely, but not last where there is a
// choice.
func otherThan(last, n int, r *rand.Rand) int {
	if n < 2 {
		return 0
	}
	i := r.IntN(n - 1)
	if i >= last {
		i++
	}
	return i
}

func (s *Session) build(rateHz float64, set dsp.Setting) func() (dsp.Processor, error) {
	return func() (dsp.Processor, error) { return s.cfg.Tool.Build(rateHz, set) }
}

// render makes the sides of a trial. What is asked about must show, whether
// or not it is then rendered.
func (s *Session) render(t Trial, clip Clip) (*Round, error) {
	rateHz := clip.Loop.RateHz
	untouched, err := newSide(s.build(rateHz, dsp.Setting{}), clip)
	if err != nil {
		return nil, unfit{err}
	}
	asked, err := newSide(s.build(rateHz, t.Asked), clip)
	if err != nil {
		return nil, err
	}
	if shift := measure.ShiftDB(measure.FactsOf(untouched.frames, rateHz), measure.FactsOf(asked.frames, rateHz)); shift < audibleDB {
		return nil, unfit{fmt.Errorf("%s shows this change by no more than %.1f dB in any band", clip.Name, shift)}
	}
	changed := asked
	if len(t.Truth) == 0 {
		changed, err = newSide(s.build(rateHz, t.Truth), clip)
		if err != nil {
			return nil, err
		}
	}
	lufs := match(untouched, changed)
	t.UntouchedDB, t.ChangedDB = untouched.gainDB, changed.gainDB
	t.ResidualLU = measure.IntegratedLUFS(changed.frames, rateHz) - measure.IntegratedLUFS(untouched.frames, rateHz)
	return &Round{
		Trial: t, Clip: clip, Question: s.cfg.Tool.Question(s.cfg.Rung, t.Asked),
		Untouched: untouched.frames, Changed: changed.frames, lufs: lufs,
	}, nil
}

// Read understands a typed answer to the open trial: "0" or "nothing" for
// nothing was changed, else what the drill understands.
func (s *Session) Read(text string) (dsp.Setting, error) {
	if s.open == nil {
		return nil, errors.New("no trial is open")
	}
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "0", "nothing":
		return dsp.Setting{}, nil
	}
	return s.cfg.Tool.Read(s.cfg.Rung, s.open.Trial.Asked, text)
}

// Answer grades a guess and keeps the record. The Outcome is valid even where
// the error says that it could not be kept.
func (s *Session) Answer(ctx context.Context, guess dsp.Setting, took time.Duration, switches int) (*Outcome, error) {
	round := s.open
	if round == nil {
		return nil, errors.New("no trial is open")
	}
	if err := guess.Check(s.cfg.Tool.Params); err != nil {
		return nil, err
	}
	record := Record{
		At:     s.cfg.Clock(),
		Trial:  round.Trial,
		Answer: Answer{Guess: guess, TookS: took.Seconds(), Switches: switches},
		Score:  s.cfg.Tool.Grade(s.cfg.Rung, round.Trial.Truth, guess),
	}
	mine, err := s.mine(round, guess)
	if err != nil {
		return nil, err
	}
	s.open = nil
	s.records = append(s.records, record)
	if len(round.Trial.Truth) > 0 {
		s.cfg.Tracker.Update(record.Score.Right)
	}
	return &Outcome{
		Record: record,
		Tell:   s.cfg.Tool.Tell(round.Trial.Truth, guess),
		Mine:   mine,
	}, s.cfg.Store.Append(ctx, record)
}

// mine is the third side: the loop changed as the listener said.
func (s *Session) mine(round *Round, guess dsp.Setting) ([]dsp.Frame, error) {
	m, err := newSide(s.build(round.Clip.Loop.RateHz, guess), round.Clip)
	if err != nil {
		return nil, err
	}
	m.apply(round.lufs - m.lufs)
	return m.frames, nil
}
