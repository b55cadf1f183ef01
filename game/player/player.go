// Package player plays loops: one mixer, and behind an Output a sound card, a
// file, or nothing at all.
//
// A Player yields frames without end. Whoever holds it asks for a program, a
// side, a pause, a level, from any goroutine; one output pulls. The two share
// atomics only. A request is heard from the start of the next block on.
//
// Nothing here raises a sound: the level is never above 0 dB, sound that
// starts is faded in, and the limiter that the Player is given comes last.
package player

import (
	"errors"
	"fmt"
	"sync/atomic"

	"github.com/gopxl/beep/v2"

	"strop/dsp"
)

const (
	levelUpS   = 0.2  // of a level that is raised; our choice
	levelDownS = 0.02 // of a level that is lowered; our choice
)

// Player is the mixer: a loop, the side of it that is heard, the master level
// and the limiter.
//
// A loop is faded by 5 ms at its ends. A switch keeps the place in the loop:
// 5 ms out, then 5 ms in; two sides never sound together. A program that is
// followed by another goes out in 5 ms, the next comes in over 50 ms; the
// first of a sitting, and the first after Stop, over 1 s. All fades are raised
// cosines. Requests that come faster than the fades are not queued: the last
// one holds, and a fade that is no longer wanted turns round.
//
// What Stream yields depends on the requests and the frames at which they came,
// never on the size of the blocks.
//
// Source of loop and switch fades: ITU-R BS.1534-3 (2015).
type Player struct {
	wish  atomic.Pointer[wish]
	heard atomic.Uint64 // what the audio side tells; see publish

	voice   voice
	level   ramp
	limiter dsp.Processor
}

var (
	_ beep.Streamer = (*Player)(nil)
	_ dsp.Delayer   = (*Player)(nil)
	_ Easer         = (*Player)(nil)
)

// New makes a Player for one sample rate. The limiter is its last stage, always;
// nil is for tests alone.
func New(rateHz float64, limiter dsp.Processor) (*Player, error) {
	if !(rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz) {
		return nil, fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
	}
	if limiter == nil {
		limiter = dsp.Chain(nil)
	}
	p := &Player{
		voice:   newVoice(rateHz),
		level:   ramp{ratio: 1, target: 1, up: frames(levelUpS, rateHz), down: frames(levelDownS, rateHz)},
		limiter: limiter,
	}
	p.wish.Store(&wish{ratio: 1})
	return p, nil
}

// RateHz is the sample rate of the frames that Stream yields.
func (p *Player) RateHz() float64 { return p.voice.rateHz }

// DelayFrames is the delay of the limiter.
func (p *Player) DelayFrames() int { return dsp.DelayFrames(p.limiter) }

// change stores a new wish, made from the present one.
func (p *Player) change(edit func(*wish) error) error {
	for {
		old := p.wish.Load()
		w := *old
		if err := edit(&w); err != nil {
			return err
		}
		if p.wish.CompareAndSwap(old, &w) {
			return nil
		}
	}
}

// Play starts a program from the top, on one of its sides, in place of what
// sounds now. It ends a pause.
func (p *Player) Play(program *Program, side int) error {
	if err := program.check(p.RateHz(), side); err != nil {
		return err
	}
	return p.change(func(w *wish) error {
		w.program, w.side, w.paused, w.kept = program, side, false, false
		w.start++
		return nil
	})
}

// Replace goes over to another program at the same place in the loop, as
// Switch does to another side: for a tool that is turned while it sounds.
// Where the loop has another length, or nothing plays, it is Play.
func (p *Player) Replace(program *Program, side int) error {
	if err := program.check(p.RateHz(), side); err != nil {
		return err
	}
	return p.change(func(w *wish) error {
		w.kept = w.program != nil && w.program.Frames() == program.Frames()
		w.program, w.side = program, side
		w.start++
		return nil
	})
}

// ErrNothing is returned where something must be playing.
var ErrNothing = errors.New("nothing is playing")

// Switch goes over to another side, at the same place in the loop.
func (p *Player) Switch(side int) error {
	return p.change(func(w *wish) error {
		switch {
		case w.program == nil:
			return ErrNothing
		case side < 0 || side >= len(w.program.Sides):
			return fmt.Errorf("there is no side %d; the loop has %d", side, len(w.program.Sides))
		}
		w.side = side
		return nil
	})
}

// Pause fades out and holds the place in the loop.
func (p *Player) Pause() { p.pause(true) }

// Resume goes on where Pause has stopped.
func (p *Player) Resume() { p.pause(false) }

func (p *Player) pause(on bool) {
	_ = p.change(func(w *wish) error { w.paused = on; return nil })
}

// Stop fades out and forgets the program.
func (p *Player) Stop() {
	_ = p.change(func(w *wish) error {
		w.program, w.side, w.paused, w.kept = nil, 0, false, false
		w.start++
		return nil
	})
}

// SetLevelDB sets the master level, 0 dB or below; -Inf is silence. The way up
// takes 200 ms, the way down 20.
func (p *Player) SetLevelDB(levelDB float64) error {
	if !(levelDB <= 0) {
		return fmt.Errorf("a level of %g dB is above 0 dB; nothing is ever made louder", levelDB)
	}
	return p.change(func(w *wish) error { w.ratio = dsp.FromDB(levelDB); return nil })
}

// LevelDB is the master level asked for last.
func (p *Player) LevelDB() float64 { return dsp.ToDB(p.wish.Load().ratio) }

// Ease lets what plays come in again from silence, over 1 s: for the moment
// before another device takes over, whose loudness nobody knows. It steps to
// silence at once, so it is called while no output pulls.
func (p *Player) Ease() {
	_ = p.change(func(w *wish) error { w.eases++; return nil })
}

// Stream fills samples with the next frames, silence where nothing plays. It
// always fills all of them; ok is always true. It is called by one goroutine
// at a time, and neither allocates nor waits.
func (p *Player) Stream(samples [][2]float64) (n int, ok bool) {
	w, quiet := p.wish.Load(), p.voice.silent()
	p.voice.heed(w)
	p.level.aim(w.ratio)
	if quiet {
		p.level.jump()
	}
	for done := 0; done < len(samples); {
		done += p.voice.fill(samples[done:])
	}
	p.level.process(samples)
	p.limiter.Process(samples)
	p.publish()
	return len(samples), true
}

// Err is nil: a Player has no end and no error.
func (p *Player) Err() error { return nil }

// heard, from the top: one bit for sounding, 15 for the side and one more so
// that 0 is nothing, 48 for the position.
const (
	soundingBit = 1 << 63
	sideShift   = 48
	sideMask    = 1<<15 - 1
	posMask     = 1<<48 - 1
)

func (p *Player) publish() {
	v := &p.voice
	told := uint64(0)
	if v.program != nil {
		told = uint64(v.side+1)<<sideShift | uint64(v.pos)
	}
	if !v.silent() {
		told |= soundingBit
	}
	p.heard.Store(told)
}

// Position is the place in the loop, in frames, of the next frame to enter the
// limiter; 0 where there is no program.
func (p *Player) Position() int { return int(p.heard.Load() & posMask) }

// Side is the side that is heard, or held by a pause; -1 where there is none.
// It follows Switch when the fade-out is done.
func (p *Player) Side() int { return int(p.heard.Load()>>sideShift&sideMask) - 1 }

// Sounding reports whether a program is being heard: false when stopped, when
// paused, and before the first block.
func (p *Player) Sounding() bool { return p.heard.Load()&soundingBit != 0 }
