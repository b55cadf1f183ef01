package scene_test

import (
	"math"
	"testing"
	"time"
)

// A stem is heard alone while a key is held, and for how long is kept.
func TestAloneWhileHeld(t *testing.T) {
	w := newWorld(t).drill("level-stem", "way")
	w.keys("enter", "s")
	if w.sound.last() != "switch 2" { // the untouched side, alone
		t.Errorf("s asked the sound for %q", w.sound.last())
	}
	w.keys("s") // the key repeats
	w.now = w.now.Add(2 * time.Second)
	w.lift("s")
	if w.sound.last() != "switch 0" {
		t.Errorf("letting go asked the sound for %q", w.sound.last())
	}
	w.keys("c", "s")
	if w.sound.last() != "switch 3" { // the changed side, alone
		t.Errorf("s asked the sound for %q", w.sound.last())
	}
	w.now = w.now.Add(time.Second)
	w.keys("1", "enter").at("feedback")
	if got := w.history.records[0].Answer; math.Abs(got.SoloS-3) > 1e-9 || got.TookS != 3 {
		t.Errorf("alone for %g of %g s", got.SoloS, got.TookS)
	}
}

// The move is said before the tool is touched; then every turn is heard at
// the same place, and the last one is the answer.
func TestTurningATool(t *testing.T) {
	w := newWorld(t).drill("make-eq", "turn")
	w.keys("enter", "shift+right")
	if w.sound.last() != "play 0 of 4" {
		t.Errorf("before the move was said the sound was asked for %q", w.sound.last())
	}
	w.keys("enter").at("drill")
	if w.sound.last() != "replace 2 of 6" {
		t.Errorf("the move asked the sound for %q", w.sound.last())
	}
	w.keys("tab", "right", "right")
	if w.sound.last() != "replace 2 of 6" {
		t.Errorf("turning asked the sound for %q", w.sound.last())
	}
	w.keys("enter").at("feedback").says("undoes it")
	a := w.history.records[0].Answer
	if a.Intent["gainDB"] != 0 || a.Guess["gainDB"] == 0 || a.Guess["freqHz"] == a.Intent["freqHz"] || a.Guess["q"] == a.Intent["q"] {
		t.Errorf("meant %v, turned to %v: the tool stands elsewhere once the move was said", a.Intent, a.Guess)
	}
	if w.history.records[0].Score.Errors["remainsDB"] <= 0 {
		t.Errorf("nothing remains: %v", w.history.records[0].Score)
	}
}

// What is chosen on the page of the drills is practised, and remembered.
func TestChoosingADrill(t *testing.T) {
	w := newWorld(t)
	w.library.stems, w.Wish.Tool = true, ""
	w.open().at("today").says("Plan of the day", "A review is due.", "15 minutes")
	w.keys("d", "home", "down", "enter").at("today").says(w.Tools[0].Title)
	if w.history.settings["drill"] != w.Tools[0].ID {
		t.Errorf("remembered: %v", w.history.settings)
	}
	w.keys("enter").at("drill")
}
