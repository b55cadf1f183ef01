package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What a sitting left is exported, imported on another machine, and exported
// again: the same to the letter, however often it is imported.
func TestExportComesBackByImport(t *testing.T) {
	dir := t.TempDir()
	must(t, dir, "1\n\n2\n\n3\n\n0\n\n", "text", "--material", songFile(t, "song.wav"), "--trials", "4", "--seed", "5", "--out", t.TempDir())
	for _, form := range []string{"--json", "--csv"} {
		want := must(t, dir, "", "export", form)
		file := filepath.Join(t.TempDir(), "export")
		if err := os.WriteFile(file, []byte(want), 0o600); err != nil {
			t.Fatal(err)
		}
		other := t.TempDir()
		if got := must(t, other, "", "import", file); got != "4 answers imported; 0 were here already.\n" {
			t.Errorf("%s: %s", form, got)
		}
		if got := must(t, other, want, "import", "-"); got != "0 answers imported; 4 were here already.\n" {
			t.Errorf("%s, again: %s", form, got)
		}
		if got := must(t, other, "", "export", "--csv"); got != must(t, dir, "", "export", "--csv") {
			t.Errorf("%s: what was imported differs", form)
		}
	}
}

// What is no export is one sentence, and nothing of it is kept.
func TestImportRefuses(t *testing.T) {
	dir := t.TempDir()
	song := songFile(t, "song.wav")
	must(t, dir, "1\n\n2\n\n", "text", "--material", song, "--trials", "2", "--seed", "5", "--out", t.TempDir())
	whole := must(t, dir, "", "export", "--json")
	for name, text := range map[string]string{
		"cut":     whole[:len(whole)-40],
		"empty":   "",
		"altered": strings.Replace(whole, `"switches":0`, `"switches":7`, 1),
		"newer":   strings.Replace(whole, `"switches"`, `"mood":1,"switches"`, 1),
	} {
		code, stdout, stderr := call(t, dir, text, "import", "-")
		if code != 1 || stdout != "" || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "nothing was imported") {
			t.Errorf("%s: exit code %d, %q, %q", name, code, stdout, stderr)
		}
	}
	for _, file := range []string{song, dir, filepath.Join(dir, "missing")} {
		if code, stdout, stderr := call(t, dir, "", "import", file); code != 1 || stdout != "" || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%s: exit code %d, %q, %q", file, code, stdout, stderr)
		}
	}
	if got := must(t, dir, "", "export", "--json"); got != whole {
		t.Error("the history is another")
	}
}

// Without a place for the history, the sitting goes on, says so, and leaves a
// file that an import reads.
func TestPractiseWithoutAPlaceForTheHistory(t *testing.T) {
	song, working := songFile(t, "song.wav"), t.TempDir()
	t.Chdir(working)
	out := must(t, filepath.Join(song, "strop"), "1\n\n2\n\n", "text", "--material", song, "--trials", "2", "--seed", "5", "--out", t.TempDir())
	for _, want := range []string{"cannot be written", "held in memory", "Saved as " + working} {
		if !strings.Contains(out, want) {
			t.Errorf("it does not say %q:\n%s", want, out)
		}
	}
	saved, err := filepath.Glob(filepath.Join(working, "strop-answers-*.json"))
	if err != nil || len(saved) != 1 {
		t.Fatalf("saved: %v %v", saved, err)
	}
	if got := must(t, t.TempDir(), "", "import", saved[0]); got != "2 answers imported; 0 were here already.\n" {
		t.Error(got)
	}
}
