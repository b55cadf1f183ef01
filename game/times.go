package main

import (
	"fmt"
	"os"
	"time"

	"strop/game/live"
	"strop/game/ui"
)

// times measures how fast the program is, where that was asked for. A nil
// times measures nothing.
type times struct {
	room   *live.Room
	began  time.Time
	drawn  bool          // the first frame was
	first  time.Duration // until it was on the screen
	sound  chan time.Duration
	asked  bool
	moving []time.Time // frames in which a curve was on its way
	frames int         // of all curves
	took   time.Duration
}

func newTimes(room *live.Room, began time.Time) *times {
	return &times{room: room, began: began, sound: make(chan time.Duration, 1)}
}

// act waits, beside the window, for the first sound of the first sitting.
func (t *times) act(a ui.Action) {
	if t == nil || t.asked || a.ID != "start" {
		return
	}
	t.asked = true
	pressed := time.Now()
	go func() {
		for !t.room.Sounding() && time.Since(pressed) < time.Minute {
			time.Sleep(time.Millisecond)
		}
		t.sound <- time.Since(pressed)
	}()
}

// again is how soon the next update is wanted.
func (t *times) again() time.Duration {
	if t != nil && t.first == 0 {
		return time.Millisecond
	}
	return never
}

// update sees the first frame on the screen: what follows it begins.
func (t *times) update() {
	if t != nil && t.drawn && t.first == 0 {
		t.first = time.Since(t.began)
		fmt.Fprintf(os.Stderr, "start to first frame: %.0f ms\n", 1000*t.first.Seconds())
	}
}

// drew counts the frames of a curve that moves.
func (t *times) drew(f *ui.Frame) {
	if t == nil {
		return
	}
	t.drawn = true
	if part := f.Progress(); part > 0 && part < 1 {
		t.moving = append(t.moving, time.Now())
		return
	}
	if n := len(t.moving) - 1; n > 0 {
		t.frames += n
		t.took += t.moving[n].Sub(t.moving[0])
	}
	t.moving = t.moving[:0]
}

func (t *times) print() {
	if t == nil {
		return
	}
	select {
	case d := <-t.sound:
		fmt.Fprintf(os.Stderr, "key to first sound: %.0f ms\n", 1000*d.Seconds())
	default:
	}
	if t.frames > 0 {
		fmt.Fprintf(os.Stderr, "while a curve moves: %.1f frames a second\n", float64(t.frames)/t.took.Seconds())
	}
}
