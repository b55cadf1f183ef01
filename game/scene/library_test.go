package scene_test

import (
	"slices"
	"strings"
	"testing"

	"strop/game/scene"
	"strop/game/ui"
)

// trackSheet is five stems, one of them of no known role.
func trackSheet() scene.Sheet {
	s := scene.Sheet{Roles: []string{"kick", "snare", "hat", "bass", "guitar", "keys", "lead vocal", "backing vocal"}, Tags: []string{"live"}}
	for i, name := range []string{"Kick", "Bass DI", "Gtr 1 Neck", "take_07", "Lead Vox"} {
		s.Stems = append(s.Stems, scene.Stem{
			Name: name, Role: []string{"kick", "bass", "guitar", "", "lead vocal"}[i], RoleFrom: []string{"name", "name", "name", "", "name"}[i],
			Channels: 1, Fader: scene.Fader{GainDB: -6.5 - float64(i), Pan: []float64{0, 0, -0.4, 0.4, 0}[i], Muted: i == 3},
		})
	}
	s.Warnings = []string{"the stems last from 3:10 to 3:12: see that they all start together"}
	return s
}

// looked is what a look at three stems found.
func looked() scene.Intake {
	return scene.Intake{
		Headings: []string{"stem", "length", "kHz", "bits", "peak dBTP", "LUFS", "floor dBFS", "silent"},
		Rows: [][]string{
			{"Kick In", "3:12.00", "48", "24", "−8.0", "−32.1", "−73.5", "17 %"},
			{"Snare Bottom", "3:12.00", "48", "16 in 24", "−9.0", "−31.3", "−71.6", "31 %"},
			{"Lead Vox", "3:10.25", "44.1", "24", "0.4", "−20.2", "−58.0", "44 %"},
		},
		Of: [][]string{
			{}, {"Its 24-bit samples hold 16 bits."},
			{"Its rate is 44100 Hz; most stems have 48000 Hz.", "It is clipped at −0.1 dBFS in 12 places, the first at 0:41.20; 0.004 % of its samples.", "Tuning: +4 ± 21 ct from A = 440 Hz."},
		},
		Notes: []string{"There are 2 sample rates among the stems.", "Snare Bottom to Snare Top: +0.13 ms (+5 cm), opposite polarity, in 7 of 7 places; together −3.6 dB over the sum of their powers."},
	}
}

// A role is corrected, a fader moved, and both are kept with the song, which is
// opened with them. What was only looked at keeps nothing.
func TestStems(t *testing.T) {
	w := newWorld(t).open().keys("m", "s").at("stems").keys("escape").at("material")
	if len(w.library.decided) != 0 {
		t.Errorf("looking decided %+v", w.library.decided)
	}
	w.keys("s", "down", "down", "down").says("take_07", "muted")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "role", Index: 5})
	w.says("role: as you said")
	w.keys(" ")
	if w.sound.last() != "play 0 of 1" {
		t.Errorf("the sound was asked for %q", w.sound.last())
	}
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "gain", Value: -12})
	w.stage.Settle()
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "mute", Index: 0})
	w.stage.Settle()
	if w.sound.last() != "replace 0 of 1" {
		t.Errorf("after a fader was moved the sound was asked for %q", w.sound.last())
	}
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "collections", Text: " Monday ,, loud, Monday"})
	opened := len(w.library.opened)
	w.keys("ctrl+s").at("material")
	if len(w.library.opened) != opened+1 || w.sound.last() != "silence" {
		t.Errorf("opened %d times, the sound was asked for %q", len(w.library.opened)-opened, w.sound.last())
	}
	s := w.library.decided[0]
	if stem := s.Stems[3]; stem.Role != "keys" || stem.RoleFrom != "user" || stem.Fader != (scene.Fader{GainDB: -12, Pan: 0.4}) {
		t.Errorf("kept: %+v", stem)
	}
	if !slices.Equal(s.Collections, []string{"Monday", "loud"}) || !slices.Equal(s.Tags, []string{"live"}) {
		t.Errorf("kept: %v %v", s.Collections, s.Tags)
	}
	if w.sound.loud > -22.9 {
		t.Errorf("played at %.1f LUFS", w.sound.loud)
	}
}

// Labels alone need no opening anew.
func TestLabelsAlone(t *testing.T) {
	w := newWorld(t).open().keys("m", "s")
	opened := len(w.library.opened)
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "tags", Text: ""})
	w.keys("ctrl+s").at("material")
	if len(w.library.opened) != opened || len(w.library.decided) != 1 || len(w.library.decided[0].Tags) != 0 {
		t.Errorf("opened %d times, decided %v", len(w.library.opened)-opened, w.library.decided)
	}
}

// A loop becomes a favourite and no longer is one; trials can be made of
// favourites alone.
func TestFavourites(t *testing.T) {
	w := newWorld(t).open().keys("m", "v").says("There are no favourites yet")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "loops", Index: 2})
	w.keys("f").says("0:20 to 0:22, liked")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "wave", Lo: 61.5, Hi: 64})
	w.keys("f").says("1:02 to 1:04, liked")
	w.keys("v").says("(favourites) V").keys("escape").says("Favourites of it: 2 loops")
	w.keys("enter", "1", "enter", "enter", "1", "enter", "enter", "1", "enter").at("feedback")
	for _, r := range w.history.records {
		if at := float64(r.Trial.Loop.StartFrame) / 48000; at != 20 && at != 61.5 {
			t.Errorf("a trial was made of the loop at %g s", at)
		}
	}
	if len(w.history.records) != 3 {
		t.Errorf("%d records", len(w.history.records))
	}
	w = newWorld(t).open().keys("m", "f", "f")
	if len(w.library.sheet.Favourites) != 0 {
		t.Errorf("left: %+v", w.library.sheet.Favourites)
	}
}

// The list shows what has a label, what is built in, what is one's own.
func TestFilter(t *testing.T) {
	w := newWorld(t).open().keys("m")
	for i, want := range []string{"night bus.wav two rooms.flac Pink noise", "night bus.wav two rooms.flac", "Pink noise", "two rooms.flac", "two rooms.flac"} {
		w.stage.Do(ui.Action{Kind: ui.Changed, ID: "filter", Index: i})
		text := w.stage.Page().Text(200)
		for _, name := range []string{"two rooms.flac", "Pink noise"} {
			if strings.Contains(text, name) != strings.Contains(want, name) {
				t.Errorf("filter %d: %s is wrongly listed or not", i, name)
			}
		}
	}
	w.stage.Do(ui.Action{Kind: ui.Submit, ID: "songs", Index: 0})
	w.stage.Settle()
	w.at("material").says("two rooms.flac, 48 kHz")
}

// A folder is opened as the stems of one song, from the browser and dropped.
func TestFolderOfStems(t *testing.T) {
	w := newWorld(t).open().keys("m", "o", "s").at("material").says("old, 48 kHz")
	w.event(ui.Event{Kind: ui.Drop, Paths: []string{"/songs/old"}})
	w.stage.Settle()
	if n := len(w.library.opened); w.library.opened[n-1] != "old" || n != 3 {
		t.Errorf("opened %v", w.library.opened)
	}
}

// A look at the stems is given up when the screen is left.
func TestIntakeGivenUp(t *testing.T) {
	w := newWorld(t).reach("intake-working").keys("escape").at("material")
	if text := w.stage.Page().Text(200); strings.Contains(text, "canceled") {
		t.Error(text)
	}
}

// What is listed is taken in turn: never used first, then what was used longest
// ago; what is not there is passed over.
func TestInTurn(t *testing.T) {
	w := newWorld(t).open().keys("m", "n").says("two rooms.flac, 48 kHz")
	w.stage.Do(ui.Action{Kind: ui.Changed, ID: "filter", Index: 2})
	w.keys("n").says("Pink noise, 48 kHz")
	opened := len(w.library.opened)
	w.keys("n")
	if len(w.library.opened) != opened {
		t.Errorf("what is in use was opened again: %v", w.library.opened)
	}
}
