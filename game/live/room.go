package live

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"strop/drills"
	"strop/dsp"
	"strop/game/desk"
	"strop/game/player"
	"strop/game/player/card"
	"strop/game/prefs"
	"strop/game/scene"
)

// usualRateHz is the rate at which the sound is opened before there is any
// material.
const usualRateHz = 48000

// Room is the sound of the window: one desk.Sound at a time, opened anew when
// another card, rate or buffer is wanted.
type Room struct {
	silent bool
	heard  atomic.Pointer[scene.Heard] // as it was when nothing was being opened
	level  atomic.Uint64               // of everything in dB, as its bits

	mu      sync.Mutex
	sound   *desk.Sound // nil: not open
	problem error       // why not
	wanted  prefs.Prefs
	rateHz  float64 // of the material
	noise   *player.Program
}

var (
	_ scene.Sound = (*Room)(nil)
	_ scene.Noise = (*Room)(nil)
	_ scene.Cards = (*Room)(nil)
)

func newRoom(silent bool) *Room {
	r := &Room{silent: silent, rateHz: usualRateHz}
	r.heard.Store(&scene.Heard{})
	return r
}

// Use opens the sound as p says.
func (r *Room) Use(p prefs.Prefs) error {
	defer r.setLevel()
	r.mu.Lock()
	defer r.mu.Unlock()
	r.wanted = p
	return r.open()
}

func (r *Room) open() error {
	if r.sound != nil {
		_ = r.sound.Close() // what it says when it goes is of no more use
		r.sound = nil
	}
	r.sound, r.problem = r.opened()
	if r.problem != nil {
		return r.problem
	}
	return r.sound.Player.SetLevelDB(r.levelDB())
}

func (r *Room) opened() (*desk.Sound, error) {
	if r.silent {
		return desk.NoSound(r.rateHz)
	}
	rateHz := r.wanted.RateHz
	if rateHz == 0 {
		rateHz = r.rateHz
	}
	return desk.OpenSound(card.Config{Device: r.wanted.Device, RateHz: rateHz, PeriodFrames: r.wanted.PeriodFrames})
}

// Follow opens the sound at a material's rate, unless another is wanted or
// something is being heard.
func (r *Room) Follow(rateHz float64) {
	defer r.setLevel()
	r.mu.Lock()
	defer r.mu.Unlock()
	r.rateHz = rateHz
	if r.sound == nil || r.wanted.RateHz != 0 || r.sound.Player.RateHz() == rateHz || r.sound.Player.Sounding() {
		return
	}
	_ = r.open() // Heard tells
}

var errClosed = errors.New("the sound is not open")

// with does something with the sound, where there is one.
func (r *Room) with(do func(*desk.Sound) error) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.sound == nil {
		return errors.Join(r.problem, errClosed)
	}
	return do(r.sound)
}

// Play starts sides from the top.
func (r *Room) Play(rateHz float64, sides [][]dsp.Frame, side int) error {
	return r.with(func(s *desk.Sound) error { return s.Play(rateHz, sides, side) })
}

// Replace plays sides in place of those that play, at the same place.
func (r *Room) Replace(rateHz float64, sides [][]dsp.Frame, side int) error {
	return r.with(func(s *desk.Sound) error { return s.Replace(rateHz, sides, side) })
}

// Switch goes over to another side.
func (r *Room) Switch(side int) {
	_ = r.with(func(s *desk.Sound) error { return s.Player.Switch(side) }) // a side that was played is there
}

// Move does what a transport button says.
func (r *Room) Move(m scene.Motion) {
	_ = r.with(func(s *desk.Sound) error {
		switch m {
		case scene.Restart:
			s.Restart()
		case scene.Pause:
			s.Player.Pause()
		case scene.Resume:
			s.Player.Resume()
		case scene.Silence:
			s.Player.Stop()
		}
		return nil
	})
}

// Heard is what comes out. While the sound is being opened it is what came out
// before.
func (r *Room) Heard() scene.Heard {
	if !r.mu.TryLock() {
		return *r.heard.Load()
	}
	defer r.mu.Unlock()
	h := scene.Heard{Problem: r.problem}
	if r.sound != nil {
		h = scene.Heard{Part: r.sound.Part(), Problem: r.sound.Err()}
	}
	r.heard.Store(&h)
	return h
}

func (r *Room) levelDB() float64 { return math.Float64frombits(r.level.Load()) }

// SetLevelDB sets the level of everything. A sound that is just being opened
// gets it when it is.
func (r *Room) SetLevelDB(levelDB float64) error {
	if !(levelDB <= 0) {
		return fmt.Errorf("a level of %g dB is above 0 dB; nothing is ever made louder", levelDB)
	}
	r.level.Store(math.Float64bits(levelDB))
	if r.mu.TryLock() {
		r.mu.Unlock()
		r.setLevel()
	}
	return nil
}

// setLevel gives the sound the level that was asked for last.
func (r *Room) setLevel() {
	_ = r.with(func(s *desk.Sound) error { return s.Player.SetLevelDB(r.levelDB()) })
}

// MakeNoise makes the noise that the level is set by. It takes a moment, in
// which nothing else waits.
func (r *Room) MakeNoise() error {
	rateHz, made := 0.0, false
	err := r.with(func(s *desk.Sound) error {
		rateHz = s.Player.RateHz()
		made = r.noise != nil && r.noise.RateHz == rateHz
		return nil
	})
	if err != nil || made {
		return err
	}
	noise, err := player.LevelNoise(rateHz, drills.PlayLUFS, 1)
	if err != nil {
		return err
	}
	return r.with(func(*desk.Sound) error { r.noise = noise; return nil })
}

// PlayNoise plays the noise that was made.
func (r *Room) PlayNoise() error {
	return r.with(func(s *desk.Sound) error { return s.PlayProgram(r.noise, 0) })
}

// Cards lists the sound cards.
func (r *Room) Cards(context.Context) ([]scene.Card, error) {
	devices, err := card.Devices()
	cards := make([]scene.Card, len(devices))
	for i, d := range devices {
		cards[i] = scene.Card(d)
	}
	return cards, err
}

// Opened is how the card in use was opened.
func (r *Room) Opened() (o scene.Opened) {
	_ = r.with(func(s *desk.Sound) error {
		if c := s.Card(); c != nil {
			o = scene.Opened{Name: c.Name(), RateHz: c.RateHz(), LatencyMS: c.LatencyMS()}
			o.PeriodFrames, o.Periods = c.Buffer()
		}
		return nil
	})
	return o
}

// Sounding reports whether something is heard.
func (r *Room) Sounding() (yes bool) {
	_ = r.with(func(s *desk.Sound) error { yes = s.Player.Sounding(); return nil })
	return yes
}

// Close fades out and releases the card.
func (r *Room) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.sound == nil {
		return nil
	}
	err := r.sound.Close()
	r.sound = nil
	return err
}
