package desk

import (
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"strop/content/resample"
	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/game/player"
	"strop/game/player/card"
)

// Sound is the player and where it plays: a sound card while there is one,
// silence that keeps time where there is none.
type Sound struct {
	Player *player.Player
	out    player.Output
	card   *atomic.Pointer[card.Card] // the one opened last; nil: none was
	now    *player.Program            // what plays
	sides  [][]dsp.Frame              // what its sides were before they were resampled
	stop   context.CancelFunc
	ended  sync.WaitGroup
}

// retryCard is how long after a sound card was lost it is looked for again.
const retryCard = 3 * time.Second

// ErrSilent says that no sound card was asked for.
var ErrSilent = errors.New("sound is switched off")

// OpenSound opens a sound card at a song's rate where the card has it, else at
// the card's own, and falls silent where there is none; Err then says why.
func OpenSound(cfg card.Config) (*Sound, error) {
	opened := new(atomic.Pointer[card.Card])
	open := func() (player.Output, error) {
		c, err := card.Open(cfg)
		if err != nil {
			return nil, err
		}
		opened.Store(c)
		return c, nil
	}
	return startSound(player.NewFallback(open, cfg.RateHz, retryCard), opened)
}

// NoSound keeps time and makes none.
func NoSound(rateHz float64) (*Sound, error) { return startSound(player.NewSilent(rateHz), nil) }

// startSound plays to out until Close.
func startSound(out player.Output, opened *atomic.Pointer[card.Card]) (*Sound, error) {
	limiter, err := dynamics.Limiter.New(out.RateHz(), dsp.Setting{"ceilingDBTP": drills.CeilingDBTP})
	if err != nil {
		return nil, err
	}
	p, err := player.New(out.RateHz(), limiter)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Sound{Player: p, out: out, card: opened, stop: stop}
	s.ended.Go(func() { _ = out.Run(ctx, p) }) // what it says is in Err
	return s, nil
}

// Err says why there is no sound, nil while there is.
func (s *Sound) Err() error {
	if f, ok := s.out.(*player.Fallback); ok {
		return f.Err()
	}
	return ErrSilent
}

// Card is the sound card that plays, nil while none does.
func (s *Sound) Card() *card.Card {
	if s.card == nil || s.Err() != nil {
		return nil
	}
	return s.card.Load()
}

// Play starts sides of a rate from the top, resampled where the sound card
// runs at another.
func (s *Sound) Play(rateHz float64, sides [][]dsp.Frame, side int) error {
	program, err := s.program(rateHz, sides)
	if err != nil {
		return err
	}
	return s.Player.Play(program, side)
}

// Replace plays sides in place of those that play, at the same place in the
// loop.
func (s *Sound) Replace(rateHz float64, sides [][]dsp.Frame, side int) error {
	program, err := s.program(rateHz, sides)
	if err != nil {
		return err
	}
	return s.Player.Replace(program, side)
}

// program makes sides into what the player plays. Those that were there
// before are not resampled again.
func (s *Sound) program(rateHz float64, sides [][]dsp.Frame) (*player.Program, error) {
	program := &player.Program{RateHz: s.Player.RateHz()}
	for i, frames := range sides {
		resampled, err := s.resampled(i, frames, rateHz)
		if err != nil {
			return nil, err
		}
		program.Sides = append(program.Sides, resampled)
	}
	s.now, s.sides = program, slices.Clone(sides)
	return program, nil
}

// resampled is a side at the player's rate. The sides of a trial are played
// twice, before the answer and after it, and resampled once.
func (s *Sound) resampled(i int, frames []dsp.Frame, rateHz float64) ([]dsp.Frame, error) {
	if i < len(s.sides) && len(frames) > 0 && len(frames) == len(s.sides[i]) && &frames[0] == &s.sides[i][0] {
		return s.now.Sides[i], nil
	}
	return resample.Loop(frames, rateHz, s.Player.RateHz())
}

// PlayProgram starts a program that is at the player's rate already.
func (s *Sound) PlayProgram(program *player.Program, side int) error {
	s.now, s.sides = program, nil
	return s.Player.Play(program, side)
}

// Part is how much of the loop has been heard, 0 to 1.
func (s *Sound) Part() float64 {
	if s.now == nil || s.now.Frames() == 0 {
		return 0
	}
	return float64(s.Player.Position()) / float64(s.now.Frames())
}

// Restart plays the side that is heard from the top.
func (s *Sound) Restart() {
	if s.now != nil {
		_ = s.Player.Play(s.now, max(s.Player.Side(), 0)) // it was played before: it can be again
	}
}

// fadeOut is a little more than the player takes to fall silent.
const fadeOut = 30 * time.Millisecond

// Close fades out and releases the sound card.
func (s *Sound) Close() error {
	s.Player.Stop()
	time.Sleep(fadeOut)
	s.stop()
	s.ended.Wait()
	return s.out.Close()
}
