package scene_test

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/tools"
	"strop/dsp"
	"strop/game/scene"
	"strop/game/ui"
	"strop/game/ui/uitest"
)

var update = flag.Bool("update", false, "write the golden pages and pictures anew")

// state is a screen in one of its states, and how to come to it.
type state struct {
	name  string
	reach func(w *world)
}

// states are all screens in all states that look different.
func states() []state {
	return []state{
		{"today-first", func(w *world) { w.open() }},
		{"today-opening", func(w *world) {
			w.library.gate = make(chan struct{})
			w.t.Cleanup(func() { close(w.library.gate) })
			w.stage = scene.New(w.World, func() {})
			w.t.Cleanup(w.stage.Close)
			for !strings.Contains(w.stage.Page().Text(80), "opening night bus.wav") || strings.Contains(w.stage.Page().Text(80), "reading") {
				time.Sleep(time.Millisecond)
				w.stage.Deliver()
			}
		}},
		{"today", func(w *world) { w.practised(); w.open() }},
		{"today-done", func(w *world) { w.practised(); w.now = w.now.Add(-24 * time.Hour); w.open() }},
		{"today-plan", func(w *world) { w.Wish.Tool = ""; w.open() }},
		{"drills-plan", func(w *world) { w.Wish.Tool = ""; w.open().keys("d") }},
		{"today-silent", func(w *world) {
			w.sound.problem = errors.New("there is no sound system on this machine")
			w.open()
		}},
		{"today-moved", func(w *world) {
			moved := &scene.Moved{Material: w.library.known[0], Problem: errors.New("night bus.wav is not at /songs/night bus.wav any more: say where it is now")}
			w.library.failing["/songs/night bus.wav"] = moved
			w.open()
		}},
		{"find", func(w *world) { w.reach("today-moved"); w.keys("tab", "enter") }},
		{"level-first", func(w *world) { delete(w.history.settings, "levelSetAt"); w.open() }},
		{"level-playing", func(w *world) {
			w.open().keys("l", " ", "left", "left", "left", "left")
			w.keys("shift+right")
		}},
		{"material", func(w *world) { w.open().keys("m", "tab", "down") }},
		{"material-playing", func(w *world) { w.open().keys("m", " "); w.sound.part = 0.5; w.pass(time.Second) }},
		{"material-one-loop", func(w *world) { w.open().keys("m", "tab", "down", "t") }},
		{"material-problem", func(w *world) { w.open().keys("m", "o", "down", "down", "enter") }},
		{"material-filter", func(w *world) {
			w.open().keys("m", "f")
			w.stage.Do(ui.Action{Kind: ui.Changed, ID: "filter", Index: 3})
		}},
		{"stems", func(w *world) { w.open().keys("m", "s", "down", "down", "down") }},
		{"stems-unready", func(w *world) { w.library.unready = true; w.open().keys("m", "s") }},
		{"stems-playing", func(w *world) { w.open().keys("m", "s", " ", "tab", "left", "tab", "left") }},
		{"intake", func(w *world) { w.open().keys("m", "i", "down", "down") }},
		{"intake-working", func(w *world) {
			w.open().keys("m")
			w.library.gate = make(chan struct{})
			w.stage.Do(ui.Action{Kind: ui.Pressed, ID: "intake"})
			for !strings.Contains(w.stage.Page().Text(80), "40 %") {
				time.Sleep(time.Millisecond)
				w.stage.Deliver()
			}
		}},
		{"sources", func(w *world) { w.open().keys("s", "o", "down") }},
		{"browse", func(w *world) { w.open().keys("m", "o", "down") }},
		{"drill", func(w *world) { w.open().keys("enter") }},
		{"drill-answered", func(w *world) { w.open().keys("enter", "c", "right", "right") }},
		{"drill-not-understood", func(w *world) { w.open().keys("enter", "2", "k", "k", "enter") }},
		{"drill-thirds", func(w *world) { w.Wish.Rung = "thirds"; w.open().keys("enter", "right") }},
		{"drill-free", func(w *world) { w.Wish.Rung = "free"; w.open().keys("enter", "2", "k", "5") }},
		{"drill-cards", func(w *world) { w.drill("comp-reduction", "three").keys("enter", "2") }},
		{"drill-no-card", func(w *world) { w.drill("comp-reduction", "three").keys("enter", "enter") }},
		{"drill-stems", func(w *world) { w.drill("reverb-stem", "three").keys("enter", "down") }},
		{"drill-pairs", func(w *world) { w.drill("mix-cover", "of-three").keys("enter", "down", "right") }},
		{"drill-arc", func(w *world) { w.drill("pan", "arc").keys("enter", "right", "shift+right") }},
		{"feedback-arc", func(w *world) { w.reach("drill-arc"); w.keys("enter") }},
		{"drill-alone", func(w *world) {
			w.drill("level-stem", "way").keys("enter", "s")
			w.now = w.now.Add(3 * time.Second)
			w.lift("s")
			w.now = w.now.Add(9 * time.Second)
		}},
		{"drill-knobs", func(w *world) { w.drill("make-eq", "turn").keys("enter", "shift+right", "tab", "left", "left") }},
		{"drill-turned", func(w *world) { w.reach("drill-knobs"); w.keys("enter", "shift+right") }},
		{"feedback-turned", func(w *world) { w.reach("drill-turned"); w.keys("enter") }},
		{"feedback-cards", func(w *world) { w.reach("drill-cards"); w.keys("enter") }},
		{"drills", func(w *world) { w.open().keys("d", "down", "down") }},
		{"drill-leaving", func(w *world) { w.open().keys("enter", "1", "enter", "enter", "escape") }},
		{"drill-failed", func(w *world) {
			w.library.failing["/songs/night bus.wav"] = errors.New("night bus.wav: this is no sound file that strop knows")
			w.open().keys("enter")
		}},
		{"feedback-right", func(w *world) { w.open(); w.answer("right"); w.pass(time.Second) }},
		{"feedback-wrong", func(w *world) { w.open(); w.answer("wrong"); w.pass(400 * time.Millisecond) }},
		{"feedback-missed", func(w *world) { w.open(); w.answer("nothing"); w.pass(time.Second) }},
		{"feedback-not-kept", func(w *world) {
			w.open()
			w.history.broken = errors.New("the disk is full: make room and answer again")
			w.answer("wrong")
			w.pass(time.Second)
		}},
		{"rescue", func(w *world) { w.reach("feedback-not-kept"); w.keys("e") }},
		{"rescued", func(w *world) { w.reach("rescue"); w.keys("enter") }},
		{"today-unkept", func(w *world) { w.reach("feedback-not-kept"); w.keys("escape", "tab", "enter", "enter") }},
		{"today-read-only", func(w *world) {
			w.history.broken = errors.New("the history cannot be written: the folder is read-only")
			w.open()
		}},
		{"summary", func(w *world) {
			w.Wish.Trials = 12
			w.open()
			for i := range 12 {
				w.answer([]string{"right", "right", "wrong", "right"}[i%4])
				w.keys("enter")
			}
		}},
		{"progress-empty", func(w *world) { w.open().keys("p") }},
		{"progress", func(w *world) { w.practised(); w.open().keys("p") }},
		{"progress-many", func(w *world) { w.practisedMore(); w.open().keys("p", "down") }},
		{"progress-closer", func(w *world) { w.reach("progress-many"); w.keys("enter") }},
		{"skills", func(w *world) { w.practised(); w.open().keys("p", "k") }},
		{"predictions", func(w *world) { w.reach("skills"); w.keys("h") }},
		{"settings", func(w *world) { w.open().keys("s") }},
		{"help", func(w *world) { w.open().keys("enter", "?") }},
	}
}

// drill opens a song with stems, to practise one drill in one way.
func (w *world) drill(tool, way string) *world {
	w.library.stems = true
	w.Wish.Tool, w.Wish.Rung = tool, way
	return w.open()
}

// lift lets a key go.
func (w *world) lift(k string) {
	w.event(ui.Event{Kind: ui.KeyUp, Key: ui.Key(k)})
}

// reach brings a world to a state.
func (w *world) reach(name string) *world {
	w.t.Helper()
	for _, s := range states() {
		if s.name == name {
			s.reach(w)
			return w
		}
	}
	w.t.Fatalf("there is no state %s", name)
	return w
}

// answer starts a sitting where none is open, and answers the trial: "right",
// "wrong" by two bands or more, or "nothing".
func (w *world) answer(how string) {
	w.t.Helper()
	if w.stage.Page().Name == "today" {
		w.keys("enter")
	}
	w.at("drill")
	truth := w.truth()
	n := 1 + bandOf(truth)
	switch {
	case how == "nothing" || how == "right" && len(truth) == 0:
		w.keys("n")
		return
	case how == "wrong":
		n = 1 + (n+1)%5
	}
	w.keys(fmt.Sprint(n), "enter")
}

// truth is that of the trial that was made last.
func (w *world) truth() dsp.Setting {
	w.sitter.mu.Lock()
	defer w.sitter.mu.Unlock()
	return w.sitter.last.Trial.Truth
}

// bandOf is the place of a truth among five bands.
func bandOf(truth dsp.Setting) int {
	for i, hz := range []float64{200, 600, 2000, 6000} {
		if truth["freqHz"] < hz {
			return i
		}
	}
	return 4
}

// practised gives a world four weeks of answers that get better.
func (w *world) practised() {
	rung := []float64{100, 316.22776601683796, 1000, 3162.2776601683795, 10000}
	for day := range 12 {
		at := w.now.Add(-time.Duration(24*(26-2*day)-2) * time.Hour)
		for i := range 20 {
			truth := dsp.Setting{"freqHz": rung[(7*i+day)%5], "gainDB": 6, "q": math.Sqrt2}
			miss := 0
			if (i*13+day*5)%20 > 8+day {
				miss = 1 - 2*(i%2)
			}
			k := min(max((7*i+day)%5+miss, 0), 4)
			guess := truth.With("freqHz", rung[k])
			oct := dsp.Octaves(truth["freqHz"], guess["freqHz"])
			w.history.records = append(w.history.records, drills.Record{
				At: at.Add(time.Duration(i) * 30 * time.Second),
				Trial: drills.Trial{
					Session: fmt.Sprint("day ", day), Number: i + 1, Tool: "eq-band", Rung: "five", Level: 9 - 0.3*float64(day) + 0.4*math.Sin(float64(i)),
					Condition: drills.Condition{Transducer: "unstated", Heard: "mix"}, Asked: truth, Truth: truth,
				},
				Answer: drills.Answer{Guess: guess, TookS: 11},
				Score:  drills.Score{Right: oct == 0, Errors: map[string]float64{"errorOct": oct}},
			})
		}
	}
}

// practisedMore adds answers to other drills, and on other days.
func (w *world) practisedMore() {
	w.practised()
	for i := range 60 {
		id := []string{"level-stem", "comp-reduction", "mix-cover"}[i%3]
		tool, err := tools.Find(id)
		if err != nil {
			w.t.Fatal(err)
		}
		heard := []string{"headphones", "loudspeakers"}[i/30]
		r := drills.Record{
			At: w.now.Add(-time.Duration(60-i) * 8 * time.Hour),
			Trial: drills.Trial{Session: fmt.Sprint("more ", i/3), Number: 1 + i%3, Tool: id, Rung: tool.Rungs[0].ID, Level: 4,
				Condition: drills.Condition{Transducer: heard, Heard: "mix"}, Truth: dsp.Setting{tool.Params[0].ID: tool.Params[0].Max}},
			Score: drills.Score{Right: i%4 > 0, Errors: map[string]float64{tool.Error: float64(i%4-1) * 0.7}},
		}
		r.Trial.Asked, r.Answer.Guess = r.Trial.Truth, r.Trial.Truth
		w.history.records = append(w.history.records, r)
	}
}

// Every screen and state is a page of text that was read and found good, at
// three widths, and fits three sizes of window: nothing overlaps a place where
// it cannot be, nothing that is asked or told is cut off.
func TestGoldenPages(t *testing.T) {
	for _, s := range states() {
		t.Run(s.name, func(t *testing.T) {
			w := newWorld(t)
			s.reach(w)
			page := w.stage.Page()
			got := page.Text(60) + "\n" + page.Text(80) + "\n" + page.Text(120)
			golden(t, filepath.Join("testdata", s.name+".txt"), got)
			for _, view := range uitest.Sizes() {
				f := ui.Layout(page, view, ui.State{}, uitest.Fixed{})
				if err := f.Check(); err != nil {
					t.Errorf("%gx%g, text %g: %v", view.WidthPx, view.HeightPx, view.TextScale, err)
				}
				if view.TextScale == 1 {
					wholeWords(t, f)
				}
			}
		})
	}
}

// wholeWords fails where a text is cut off.
func wholeWords(t *testing.T, f *ui.Frame) {
	t.Helper()
	for _, c := range f.Commands {
		if c.Op == ui.Label && strings.HasSuffix(c.Text, "…") {
			t.Errorf("%gx%g: cut off: %q", f.View().WidthPx, f.View().HeightPx, c.Text)
		}
	}
}

func golden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v: run with -update", err)
	}
	if got != string(want) {
		t.Errorf("%s differs; it is now:\n%s", file, got)
	}
}
