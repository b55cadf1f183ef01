package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"strop/game/cli"
)

// Without arguments strop is the window beside it where there is a display,
// and else practice in the terminal.
func TestNoArguments(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the window program of this test is a shell script")
	}
	window := filepath.Join(t.TempDir(), "strop-window")
	ended := filepath.Join(t.TempDir(), "ended-window")
	for path, script := range map[string]string{window: "echo the window", ended: "exit 3"} {
		if err := os.WriteFile(path, []byte("#!/bin/sh\n"+script+"\n"), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name        string
		display     bool
		window      string
		code        int
		out, stderr string // a part of each
	}{
		{"display", true, window, 0, "the window\n", ""},
		{"window that ends early", true, ended, 1, "", "the window ended early"},
		{"window that cannot start", true, filepath.Join(t.TempDir(), "none"), 1, "", "cannot be started"},
		{"no window", true, "", 0, "Loud sound harms hearing", "is not beside strop"},
		{"no display", false, window, 0, "Loud sound harms hearing", ""},
	} {
		var out, errs bytes.Buffer
		code := cli.Main(nil, cli.Env{
			Stdin: strings.NewReader("q\nq\n"), Stdout: &out, Stderr: &errs, DataDir: t.TempDir(), Seed: 1, Clock: time.Now,
			Display: c.display, Window: c.window,
		})
		if code != c.code || !strings.Contains(out.String(), c.out) || !strings.Contains(errs.String(), c.stderr) {
			t.Errorf("%s: exit code %d, %q, %q", c.name, code, out.String(), errs.String())
		}
	}
}
