package desk_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/exchange"
	"strop/game/desk"
)

// Where the history cannot be written, practice goes on, and its answers end
// up in a file that an import reads.
func TestRescue(t *testing.T) {
	nowhere := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(nowhere, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { return time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC) }
	d, err := desk.Open(filepath.Join(nowhere, "strop"), clock)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if told, err := d.Rescue(); told != "" || err != nil {
		t.Errorf("nothing was answered: %q %v", told, err)
	}
	r := drills.Record{At: clock(), Trial: drills.Trial{Session: "s", Number: 1, Tool: "eq-band", Rung: "ten",
		Condition: drills.Condition{Transducer: "headphones", Heard: drills.InMix}}}
	if err := d.History.Append(t.Context(), r); err == nil {
		t.Fatal("an answer was said to be kept")
	}
	dir := t.TempDir()
	told, err := d.Rescue(nowhere, dir)
	if err != nil || !strings.Contains(told, "1 answer is held in memory") || !strings.Contains(told, dir) {
		t.Fatalf("%q %v", told, err)
	}
	if told, err := d.Rescue(); told != "" || err != nil {
		t.Errorf("all were saved: %q %v", told, err)
	}
	if n, why := d.Unkept(); n != 1 || why == nil {
		t.Errorf("%d answers are unkept: %v", n, why)
	}
	other, err := desk.Open(t.TempDir(), clock)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	f, err := os.Open(filepath.Join(dir, "strop-answers-20260302T073000Z.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if added, _, err := other.History.Import(t.Context(), exchange.Read(f)); added != 1 || err != nil {
		t.Errorf("%d imported, %v", added, err)
	}
	if _, err := d.Rescue(nowhere); err == nil || !strings.Contains(err.Error(), "saved nowhere") {
		t.Errorf("nowhere to write: %v", err)
	}
}
