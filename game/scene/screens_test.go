package scene_test

import (
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/game/scene"
	"strop/game/ui"
)

// Another song is taken from the list, from a folder, by its path, or dropped;
// the old one is closed when the new one can be heard, and not before.
func TestTakingMaterial(t *testing.T) {
	w := newWorld(t).open().keys("m").says("night bus.wav, 48 kHz, 3:12")
	w.keys("down", "enter").at("material").says("two rooms.flac, 48 kHz, 4:01")
	w.keys("o").at("browse").keys("down", "down", "down", "enter").at("material").says("night bus.wav, 48 kHz")
	w.keys("o", "/")
	w.stage.Do(ui.Action{Kind: ui.Submit, ID: "path", Text: "/songs/two rooms.flac"})
	w.stage.Settle()
	w.at("material").says("two rooms.flac, 48 kHz")
	w.event(ui.Event{Kind: ui.Drop, Paths: []string{"/songs/night bus.wav"}})
	w.stage.Settle()
	w.says("night bus.wav, 48 kHz")
	if w.library.released != 4 || len(w.library.opened) != 5 {
		t.Errorf("%d opened, %d closed", len(w.library.opened), w.library.released)
	}
}

// What is no material leaves what was used before, and says why.
func TestMaterialThatIsNone(t *testing.T) {
	for path, says := range map[string]string{
		"/songs/gone.wav":    "there is no such file",
		"/songs/letter.wav":  "this is no sound file that strop knows",
		"/songs/silence.wav": "it is silent, or nearly so",
	} {
		w := newWorld(t).open().keys("m")
		w.event(ui.Event{Kind: ui.Drop, Paths: []string{path}})
		w.stage.Settle()
		w.at("material").says("! ", says, "night bus.wav, 48 kHz")
		w.keys("escape", "enter").at("drill").says("night bus.wav")
	}
}

// Opening can be given up, and what was used before stays.
func TestGivingUp(t *testing.T) {
	w := newWorld(t).open().keys("m", "down")
	w.library.gate = make(chan struct{})
	defer close(w.library.gate)
	w.key("enter")
	for !strings.Contains(w.stage.Page().Text(200), "two rooms.flac: 100 %") {
		time.Sleep(time.Millisecond)
		w.stage.Deliver()
	}
	w.stage.Do(ui.Action{Kind: ui.Pressed, ID: "cancel"})
	w.stage.Settle()
	w.says("night bus.wav, 48 kHz")
	if text := w.stage.Page().Text(200); strings.Contains(text, "opening") || strings.Contains(text, "!") {
		t.Errorf("after it was given up:\n%s", text)
	}
}

// A song that was moved is asked for, and known again in its new place.
func TestMovedSong(t *testing.T) {
	w := newWorld(t).reach("find").at("browse").says("night bus.wav has moved.")
	delete(w.library.failing, "/songs/night bus.wav")
	w.keys("down", "down", "down", "enter").at("today").says("night bus.wav 48 kHz, 3:12")
}

// Trials can be made of one loop only: one that was cut, or one that was
// drawn.
func TestOneLoop(t *testing.T) {
	w := newWorld(t).open().keys("m", "tab", "down", "down", "t").says("all loops A | favourites V | (this loop only) T")
	w.keys("escape").says("One loop of it: night bus.wav 0:20–0:22")
	w.keys("enter", "1", "enter", "enter", "1", "enter").at("feedback")
	for _, r := range w.history.records {
		if r.Trial.Loop.StartFrame != 20*48000 {
			t.Errorf("a trial was made of the loop at frame %d", r.Trial.Loop.StartFrame)
		}
	}
	w.keys("escape", "tab", "enter", "enter", "m")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "wave", Lo: 61.5, Hi: 64})
	w.keys("t", "escape").says("One loop of it: night bus.wav 1:01")
	w.keys("m")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "wave", Lo: 61.5, Hi: 62})
	w.keys(" ").says("A loop lasts 2 to 12 seconds; this one is 0.5")
	w.keys("a", "escape")
	if strings.Contains(w.stage.Page().Text(200), "One loop") {
		t.Error("all loops were asked for")
	}
}

// A loop that is heard shows where it is, and falls silent when the screen is
// left.
func TestHearingALoop(t *testing.T) {
	w := newWorld(t).open().keys("m", " ")
	if w.sound.last() != "play 0 of 1" {
		t.Fatalf("the sound was asked for %q", w.sound.last())
	}
	w.sound.part = 0.5
	w.pass(time.Second)
	w.keys("escape").at("today")
	if w.sound.last() != "silence" {
		t.Errorf("after leaving the sound was asked for %q", w.sound.last())
	}
}

// Settings hold at once, and are remembered.
func TestSettings(t *testing.T) {
	w := newWorld(t).open().keys("s").says("2 × 256 frames: 10.7 ms")
	w.keys("down", "down") // the second card
	w.keys("tab", "right", "right", "tab", "right", "tab", "right", "tab", "right", "right", "tab", "right", "tab", "left", "left", "tab", "left")
	want := map[string]string{"device": "b", "rateHz": "48000", "periodFrames": "512", "night": "true", "textScale": "1.2", "still": "true",
		"transducer": "headphones", "trials": "10"}
	for key, value := range want {
		if w.history.settings[key] != value {
			t.Errorf("%s is %q, want %q", key, w.history.settings[key], value)
		}
	}
	used := w.cards.used[len(w.cards.used)-1]
	if used.Device != "b" || used.RateHz != 48000 || used.PeriodFrames != 512 {
		t.Errorf("the sound was opened as %+v", used)
	}
	if p := w.stage.Prefs(); !p.Night || p.TextScale != 1.2 || !p.Still {
		t.Errorf("the page looks like %+v", p)
	}
	w.keys("escape").says("Ready for 3 trials?") // the command line goes before the settings
}

// Results on headphones and on loudspeakers are kept apart.
func TestTransducerIsKept(t *testing.T) {
	w := newWorld(t)
	w.history.settings["transducer"] = "headphones"
	w.open().keys("enter", "1", "enter")
	if c := w.history.records[0].Trial.Condition; c != (drills.Condition{Transducer: "headphones", Heard: "mix"}) {
		t.Errorf("kept under %+v", c)
	}
}

// Quitting asks nothing, from anywhere: every answer is kept already.
func TestQuit(t *testing.T) {
	w := newWorld(t).open().keys("enter", "1", "enter", "ctrl+q")
	if !w.stage.Ended() || len(w.history.records) != 1 {
		t.Errorf("ended %v with %d records", w.stage.Ended(), len(w.history.records))
	}
}

// An answer that is being kept while the window closes is kept.
func TestCloseKeepsTheAnswer(t *testing.T) {
	w := newWorld(t).open().keys("enter", "1")
	w.key("enter")
	w.stage.Close()
	if len(w.history.records) != 1 {
		t.Errorf("%d records", len(w.history.records))
	}
}

// The window is woken when work has something to say.
func TestWakes(t *testing.T) {
	w := newWorld(t)
	woken := make(chan bool, 100)
	w.stage = scene.New(w.World, func() { woken <- true })
	t.Cleanup(w.stage.Close)
	select {
	case <-woken:
	case <-time.After(10 * time.Second):
		t.Error("nobody was woken")
	}
}

// What is called by keys in the foot line is on the help page: both are made
// of one table.
func TestHelpHasEveryKey(t *testing.T) {
	for _, name := range []string{"today", "level-first", "material", "browse", "drill", "feedback-wrong", "summary", "progress", "settings"} {
		w := newWorld(t).reach(name)
		keys := w.stage.Page().Keys
		w.stage.Do(ui.Action{Kind: ui.Pressed, ID: "help"})
		w.at("help")
		for _, k := range keys {
			w.says(k.Label())
		}
		w.keys("escape")
	}
}
