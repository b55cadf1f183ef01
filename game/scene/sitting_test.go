package scene_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/game/scene"
	"strop/game/ui"
)

// First start: the level is set once, comes up slowly, and is remembered.
func TestFirstStart(t *testing.T) {
	w := newWorld(t)
	delete(w.history.settings, "levelSetAt")
	w.open().at("level").says("harms hearing", "no hearing test")
	if got := w.sound.levels[len(w.sound.levels)-1]; got != -30 {
		t.Errorf("it begins at %g dB", got)
	}
	w.keys(" ")
	if w.sound.last() != "noise" {
		t.Errorf("the sound was asked for %q", w.sound.last())
	}
	w.keys("end") // all the way up
	loudest := -30.0
	for range 200 {
		w.pass(50 * time.Millisecond)
		now := w.sound.levels[len(w.sound.levels)-1]
		if now > loudest+0.7 {
			t.Fatalf("it rose from %g to %g dB at once", loudest, now)
		}
		loudest = now
	}
	if loudest != 0 {
		t.Errorf("after 10 s it is at %g dB", loudest)
	}
	w.keys("home")
	if got := w.sound.levels[len(w.sound.levels)-1]; got != -60 {
		t.Errorf("down came at %g dB, not at once", got)
	}
	w.keys("right", "enter").at("today").says("The level is set.")
	if w.history.settings["levelDB"] != "-59.5" || w.history.settings["levelSetAt"] != "2026-03-02T07:30:10Z" {
		t.Errorf("remembered: %v", w.history.settings)
	}
	if w.sound.last() != "silence" {
		t.Errorf("after the level the sound was asked for %q", w.sound.last())
	}
	w.stage.Close()
	w.open().at("today") // and never again by itself
}

// A level that was looked at and left is as it was.
func TestLevelLeft(t *testing.T) {
	w := newWorld(t)
	w.history.settings["levelDB"] = "-12"
	w.open().keys("l", "left", "left", "escape").at("today")
	if got := w.sound.levels[len(w.sound.levels)-1]; got != -12 || w.history.settings["levelDB"] != "-12" {
		t.Errorf("the level is %g dB, remembered %s", got, w.history.settings["levelDB"])
	}
}

// A sitting from the first key to the summary: the records are what was
// answered, sides are heard at once, and everything is kept.
func TestSitting(t *testing.T) {
	w := newWorld(t)
	w.open().keys("enter").at("drill").says("trial 1 of 3", "(untouched) U | changed C")
	if w.sound.last() != "play 0 of 2" {
		t.Errorf("a trial begins with %q", w.sound.last())
	}
	w.now = w.now.Add(7 * time.Second)
	for _, step := range []struct{ key, asked string }{
		{"c", "switch 1"}, {"u", "switch 0"}, {"c", "switch 1"}, {" ", "pause"}, {" ", "resume"}, {"r", "restart"},
	} {
		if w.keys(step.key); w.sound.last() != step.asked {
			t.Errorf("%q asked the sound for %q, want %q", step.key, w.sound.last(), step.asked)
		}
	}
	w.keys("m").at("drill") // there is no answer to hear yet
	if w.sound.last() != "restart" {
		t.Errorf("m before the answer asked for %q", w.sound.last())
	}
	w.keys("3", "enter").at("feedback").says("untouched U | (changed) C | mine M")
	if w.sound.last() != "play 1 of 3" {
		t.Errorf("the truth begins with %q", w.sound.last())
	}
	if w.keys("m"); w.sound.last() != "switch 2" {
		t.Errorf("m asked for %q", w.sound.last())
	}
	w.keys("enter").at("drill").says("trial 2 of 3").keys("n").at("feedback")
	w.keys("enter").keys("8", "0", "0", "enter").at("feedback").says("[Finish]")
	w.keys("enter").at("summary").says("of 3 trials right.")
	r := w.history.records
	if len(r) != 3 {
		t.Fatalf("%d records", len(r))
	}
	if a := r[0].Answer; a.TookS != 7 || a.Switches != 3 || math.Abs(a.Guess["freqHz"]-1000) > 1e-9 {
		t.Errorf("first answer: %+v", a)
	}
	if len(r[1].Answer.Guess) != 0 {
		t.Errorf("nothing was kept as %v", r[1].Answer.Guess)
	}
	if math.Abs(r[2].Answer.Guess["freqHz"]-1000) > 1e-9 {
		t.Errorf("800 Hz was kept as %v, and not as the nearest band", r[2].Answer.Guess)
	}
	w.keys("enter").at("today").says("3 trials answered today")
	if w.sound.last() != "silence" {
		t.Errorf("after the sitting the sound was asked for %q", w.sound.last())
	}
}

// Nothing is ever played louder than the level noise.
func TestNothingIsLouderThanTheNoise(t *testing.T) {
	w := newWorld(t)
	w.open().keys("m", " ").at("material")
	w.keys("escape", "enter", "3", "enter", "m").at("feedback")
	if w.sound.loud > drills.PlayLUFS+0.1 {
		t.Errorf("played at %.1f LUFS", w.sound.loud)
	}
}

// The pointer answers as the keyboard does.
func TestAnswerWithTheMouse(t *testing.T) {
	w := newWorld(t)
	w.open().keys("enter").at("drill")
	box := func(id string) ui.Point {
		for _, b := range w.frame().Boxes {
			if b.ID == id {
				return ui.Point{X: b.Rect.X + 0.5*b.Rect.W, Y: b.Rect.Y + 0.6*b.Rect.H}
			}
		}
		t.Fatalf("there is no %s", id)
		return ui.Point{}
	}
	at := box("ruler")
	w.event(ui.Event{Kind: ui.Press, At: at})
	w.event(ui.Event{Kind: ui.Release, At: at})
	w.says("frequency, Hz: 1 kHz")
	w.event(ui.Event{Kind: ui.Wheel, At: at, Notches: 1})
	w.says("frequency, Hz: 3.15 kHz")
	at = box("answer")
	w.event(ui.Event{Kind: ui.Press, At: at})
	w.event(ui.Event{Kind: ui.Release, At: at})
	w.stage.Settle()
	w.at("feedback").says("mine 3.15 kHz")
}

// An answer that is missing or cannot be read is said so in place, and costs
// nothing.
func TestAnswersThatAreNone(t *testing.T) {
	w := newWorld(t)
	w.open().keys("enter", "enter").at("drill").says("! Point at a place on the ruler first")
	w.keys("2", "k", "k", "enter").at("drill").says(`"2kk" is not a frequency`)
	w.keys("backspace").at("drill")
	if strings.Contains(w.stage.Page().Text(200), "is not a frequency") {
		t.Error("the complaint stays after the text was mended")
	}
	w.keys("5", "enter").at("feedback").says("mine 3.15 kHz") // 2k5 is nearest to it
	if len(w.history.records) != 1 {
		t.Errorf("%d records", len(w.history.records))
	}
}

// Leaving asks first; what was answered is kept, what is open is forgotten.
func TestLeaving(t *testing.T) {
	w := newWorld(t)
	w.open().keys("enter", "1", "enter", "enter").at("drill")
	w.keys("escape").says("asks first", "The trial you answered is kept. The one that is open is forgotten.")
	w.keys("escape").at("drill")
	w.keys("escape", "tab", "enter").at("summary")
	if len(w.history.records) != 1 {
		t.Errorf("%d records", len(w.history.records))
	}
}

// An answer that cannot be kept is said so, in place, and practice goes on.
func TestAnswerThatIsNotKept(t *testing.T) {
	w := newWorld(t).reach("feedback-not-kept").at("feedback").says("1 answer is in memory alone. The disk is full")
	w.history.broken = nil
	w.keys("enter", "1", "enter").at("feedback")
	if len(w.history.records) != 2 || strings.Contains(w.stage.Page().Text(80), "in memory") {
		t.Errorf("%d records:\n%s", len(w.history.records), w.stage.Page().Text(80))
	}
}

// What the history cannot take is saved in a folder that is asked for.
func TestSavedElsewhere(t *testing.T) {
	w := newWorld(t).reach("feedback-not-kept")
	w.keys("e").at("rescue").says("1 answer is in memory alone.", "/songs")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "folder", Text: "/nowhere"})
	w.keys("enter").says("/nowhere cannot be looked into")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "folder", Text: "/songs/old"})
	w.keys("enter").says("/songs/old is on the same disk")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "folder", Text: "/songs"})
	w.keys("enter").says("Saved as /songs/strop-answers.json")
	w.keys("escape").at("feedback").keys("escape", "tab", "enter", "enter").at("today").says("1 answer is in memory alone")
	w.keys("e").at("rescue")
}

// The curve goes from the answer to the truth, and with reduced motion it is
// there at once.
func TestCurveMoves(t *testing.T) {
	w := newWorld(t).open()
	w.answer("wrong")
	if p := w.stage.Page().Progress; p != 0 {
		t.Errorf("it sets out at %g", p)
	}
	w.pass(300 * time.Millisecond)
	if p := w.stage.Page().Progress; p < 0.2 || p > 0.5 {
		t.Errorf("after 300 ms it is at %g", p)
	}
	w.pass(time.Second)
	if p := w.stage.Page().Progress; p != 1 {
		t.Errorf("it ends at %g", p)
	}
	w = newWorld(t)
	w.history.settings["still"] = "true"
	w.open().answer("wrong")
	w.pass(time.Millisecond)
	if p := w.stage.Page().Progress; p != 1 || !w.stage.Prefs().Still {
		t.Errorf("with reduced motion it is at %g", p)
	}
}

// The curves of the feedback are the response of the filter: as high at its
// frequency as the truth says (a peak filter's gain at its centre), and flat
// two decades away.
func TestCurvesAreTheResponse(t *testing.T) {
	w := newWorld(t).reach("feedback-wrong")
	record := w.history.records[0]
	ruler := rulerOf(t, w.stage.Page().Body)
	for i, set := range []map[string]float64{record.Trial.Truth, record.Answer.Guess} {
		peak, at := 0.0, 0.0
		for _, q := range ruler.Curves[i].Points {
			if math.Abs(q.Y) > math.Abs(peak) {
				peak, at = q.Y, q.X
			}
		}
		if math.Abs(peak-set["gainDB"]) > 0.1 || math.Abs(math.Log2(at/set["freqHz"])) > 0.06 {
			t.Errorf("%s: %.2f dB at %.0f Hz, want %.2f at %.0f", ruler.Curves[i].Label, peak, at, set["gainDB"], set["freqHz"])
		}
		if first := ruler.Curves[i].Points[0].Y; math.Abs(first) > 0.2 {
			t.Errorf("%s: %.2f dB at 20 Hz", ruler.Curves[i].Label, first)
		}
	}
}

// rulerOf finds the ruler of a page.
func rulerOf(t *testing.T, it ui.Item) ui.Ruler {
	t.Helper()
	for _, it := range it.(ui.Column).Items {
		if g, ok := it.(ui.Grow); ok {
			if r, ok := g.Item.(ui.Ruler); ok {
				return r
			}
		}
	}
	t.Fatal("there is no ruler")
	return ui.Ruler{}
}

// Start pressed while the material is still on its way is not lost.
func TestStartWhileOpening(t *testing.T) {
	w := newWorld(t)
	w.library.gate = make(chan struct{})
	w.stage = scene.New(w.World, func() {})
	t.Cleanup(w.stage.Close)
	for w.stage.Page().Text(80) == "" || !strings.Contains(w.stage.Page().Text(80), "EQ band") {
		time.Sleep(time.Millisecond)
		w.stage.Deliver()
	}
	w.key("enter")
	w.at("waiting").says("opening night bus.wav")
	close(w.library.gate)
	w.stage.Settle()
	w.at("drill")
}

// A material that cannot show the drill, or is not there, is one sentence and
// a way out.
func TestNoTrialCanBeMade(t *testing.T) {
	w := newWorld(t).reach("drill-failed").at("waiting").says("this is no sound file")
	w.keys("enter").at("material").keys("down", "down", "enter", "escape", "enter").at("drill")
}

// Without a sound card everything works, and says so.
func TestNoSound(t *testing.T) {
	w := newWorld(t)
	w.sound.problem = errors.New("there is no sound system on this machine")
	w.open().says("Nothing is heard: there is no sound system on this machine.")
	w.keys("enter").at("drill").says("Nothing is heard")
	w.keys("1", "enter").at("feedback")
	w.sound.problem = nil
	if strings.Contains(w.stage.Page().Text(200), "Nothing is heard") {
		t.Error("it still says so after a card was connected")
	}
}

// Every sitting after the first has another seed.
func TestSittingsDiffer(t *testing.T) {
	w := newWorld(t).open()
	for range 2 {
		w.keys("enter", "1", "enter", "escape", "tab", "enter", "enter").at("today")
		w.now = w.now.Add(time.Minute)
	}
	if r := w.history.records; len(r) != 2 || r[0].Trial.Seed == r[1].Trial.Seed {
		t.Error("two sittings asked with the same seed")
	}
}
