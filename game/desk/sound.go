package desk

import (
	"context"
	"errors"
	"sync"
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
	now    *player.Program // what plays
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
	open := func() (player.Output, error) {
		c, err := card.Open(cfg)
		if err != nil {
			return nil, err
		}
		return c, nil
	}
	return startSound(player.NewFallback(open, cfg.RateHz, retryCard))
}

// NoSound keeps time and makes none.
func NoSound(rateHz float64) (*Sound, error) { return startSound(player.NewSilent(rateHz)) }

// startSound plays to out until Close.
func startSound(out player.Output) (*Sound, error) {
	limiter, err := dynamics.Limiter.New(out.RateHz(), dsp.Setting{"ceilingDBTP": drills.CeilingDBTP})
	if err != nil {
		return nil, err
	}
	p, err := player.New(out.RateHz(), limiter)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Sound{Player: p, out: out, stop: stop}
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

// Play starts sides of a rate from the top, resampled where the sound card
// runs at another.
func (s *Sound) Play(rateHz float64, sides [][]dsp.Frame, side int) error {
	program := &player.Program{RateHz: s.Player.RateHz()}
	for _, frames := range sides {
		resampled, err := resample.Loop(frames, rateHz, program.RateHz)
		if err != nil {
			return err
		}
		program.Sides = append(program.Sides, resampled)
	}
	s.now = program
	return s.Player.Play(program, side)
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
