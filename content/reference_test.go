package content

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"strop/content/pcm"
	"strop/content/pcm/pcmtest"
)

// writeWAV makes a file of 16-bit stereo noise by sox, not by our own code.
func writeWAV(t *testing.T, path, seconds string) {
	t.Helper()
	pcmtest.Run(t, nil, "sox", "-R", "-n", "-r", "48000", "-c", "2", "-b", "16", path, "synth", seconds, "pinknoise", "gain", "-12")
}

// From a path to a measured loop.
func TestLoad(t *testing.T) {
	path := filepath.Join(t.TempDir(), "song.wav")
	writeWAV(t, path, "20")
	m, err := Load(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	c, err := FindLoops(m).Clip(t.Context(), 0)
	if err != nil || m.Name() != "song.wav" || m.Hash() == "" || c.Loop.Material != m.Hash() || !strings.HasPrefix(c.Name, "song.wav 0:") {
		t.Errorf("%s: %+v, %v", m.Name(), c.Loop, err)
	}
	if done, total := m.Progress(); done != 20*48000 || total != done || m.Err() != nil {
		t.Errorf("%d of %d frames, %v", done, total, m.Err())
	}
}

// Of a file that was cut off, what is there is used, and that is said in one
// sentence that names it once.
func TestLoadTruncated(t *testing.T) {
	path := filepath.Join(t.TempDir(), "song.wav")
	writeWAV(t, path, "20")
	if err := os.Truncate(path, 44+4*15*48000); err != nil {
		t.Fatal(err)
	}
	m, err := Load(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := FindLoops(m).Count(t.Context()); err != nil || n < 1 {
		t.Errorf("%d loops, %v", n, err)
	}
	text := fmt.Sprint(m.Err())
	if !errors.Is(m.Err(), pcm.ErrTruncated) || !strings.HasPrefix(text, "song.wav: only the first 0:15 can be used: ") || strings.Count(text, "song.wav") != 1 {
		t.Error(text)
	}
}

// A material that was moved is asked for, and known again wherever it is.
func TestReference(t *testing.T) {
	dir := t.TempDir()
	old, now, other := filepath.Join(dir, "song.wav"), filepath.Join(dir, "renamed.wav"), filepath.Join(dir, "other.wav")
	writeWAV(t, old, "3")
	writeWAV(t, other, "4")
	m, err := Load(t.Context(), old)
	if err != nil {
		t.Fatal(err)
	}
	remembered, err := json.Marshal(Reference{Path: old, Hash: m.Hash()})
	if err != nil {
		t.Fatal(err)
	}
	var ref Reference
	if err := json.Unmarshal(remembered, &ref); err != nil {
		t.Fatal(err)
	}
	if again, err := ref.Load(t.Context()); err != nil || again.Hash() != m.Hash() {
		t.Errorf("where it was: %v", err)
	}
	if err := os.Rename(old, now); err != nil {
		t.Fatal(err)
	}
	if _, err := ref.Load(t.Context()); !errors.Is(err, ErrMoved) || err.Error() != "song.wav is not at "+old+" any more: say where it is now" {
		t.Errorf("moved: %v", err)
	}
	if got, _, err := ref.LoadFrom(t.Context(), other); !errors.Is(err, ErrMoved) || got != ref {
		t.Errorf("another file: %+v, %v", got, err)
	}
	got, found, err := ref.LoadFrom(t.Context(), now)
	if err != nil || found.Hash() != m.Hash() || got != (Reference{Path: now, Hash: m.Hash()}) {
		t.Errorf("found: %+v, %v", got, err)
	}
}
