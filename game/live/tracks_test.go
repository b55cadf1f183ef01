package live_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"strop/game/desk"
	"strop/game/live"
	"strop/game/scene"
	"strop/game/ui"
)

// stemFolder is two stems of one song, the second of a name that says nothing.
func stemFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"Kick.wav", "take_07.wav"} {
		if err := os.Rename(songFile(t, name), filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	song := filepath.Join(filepath.Dir(dir), "tea break")
	if err := os.Rename(dir, song); err != nil {
		t.Fatal(err)
	}
	return song
}

// What is decided about a folder of stems in the window holds when it is opened
// again, under another name too.
func TestDecisionsGoWithTheStems(t *testing.T) {
	data, song := t.TempDir(), stemFolder(t)
	s := sit(t, data, live.Config{Open: song})
	s.await("level", "Loud sound").keys("enter").await("today", "48 kHz").keys("m").await("material", " LUFS").keys("f").await("material", "liked")
	s.keys("s").await("stems", "take_07")
	s.await("stems", "[Keep]  Ctrl S") // no longer listening
	s.stage.Do(ui.Action{Kind: ui.Changed, ID: "stems", Index: 1})
	s.stage.Do(ui.Action{Kind: ui.Changed, ID: "role", Index: 3})
	s.stage.Do(ui.Action{Kind: ui.Changed, ID: "gain", Value: -9})
	s.stage.Do(ui.Action{Kind: ui.Changed, ID: "tags", Text: "live, loud"})
	s.keys("ctrl+s").await("material", "tea break")
	s.close()

	moved := filepath.Join(filepath.Dir(song), "coffee break")
	if err := os.Rename(song, moved); err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(data, clock)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	l := live.New(d, live.Config{Silent: true})
	defer l.Close()
	known, err := l.World().Library.Known(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	m := known[slices.IndexFunc(known, func(m scene.Material) bool { return m.Path == song })]
	if !slices.Equal(m.Tags, []string{"live", "loud"}) || m.Stems != 2 {
		t.Errorf("listed: %+v", m)
	}
	again, err := l.World().Library.Open(m)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	sheet, _ := again.Sheet()
	if got := sheet.Stems[1]; got.Role != sheet.Roles[3] || got.RoleFrom != "user" {
		t.Errorf("role: %+v", got)
	}
	clip, err := again.Clip(t.Context(), 0) // the sheet is complete now
	if err != nil {
		t.Fatal(err)
	}
	sheet, ready := again.Sheet()
	if got := sheet.Stems[1].Fader.GainDB; got != -9 || !ready || len(clip.Stems) != 2 {
		t.Errorf("fader at %g dB, ready %v, %d stems", got, ready, len(clip.Stems))
	}
	if len(sheet.Favourites) != 1 || sheet.Favourites[0].Frames == 0 {
		t.Errorf("favourites: %+v", sheet.Favourites)
	}
	looked, err := again.Intake(t.Context(), func(float64) {})
	if err != nil || len(looked.Rows) != 2 || len(looked.Rows[0]) != len(looked.Headings) {
		t.Fatalf("%+v %v", looked, err)
	}
	if notes := strings.Join(looked.Notes, " "); !strings.Contains(notes, "take_07 holds the same as Kick") {
		t.Errorf("notes: %s", notes)
	}
}
