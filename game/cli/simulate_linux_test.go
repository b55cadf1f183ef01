package cli_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"golang.org/x/sys/unix"

	"strop/game/cli"
)

// terminal is a pseudo-terminal: what a program writes to, and what comes out
// at the other end once it is closed.
func terminal(t *testing.T) (end *os.File, shown func() string) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skipf("there is no pseudo-terminal: %v", err)
	}
	t.Cleanup(func() { master.Close() })
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	number, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	end, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	said := make(chan string)
	go func() {
		var all bytes.Buffer
		_, _ = io.Copy(&all, master) // a terminal that has been closed is an error
		said <- all.String()
	}()
	return end, func() string { end.Close(); return <-said }
}

// A bar grows on the terminal from nothing to all, with the time that is left,
// and is gone at the end; the rows on standard output are untouched by it.
func TestSimulationShowsItsProgress(t *testing.T) {
	const line = "simulate precision --runs 40 --slope 3 --lapse 0.02 --trials 20 --json"
	end, shown := terminal(t)
	at := time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC)
	var out bytes.Buffer
	code := cli.Main(strings.Fields(line), cli.Env{
		Stdin: strings.NewReader(""), Stdout: &out, Stderr: end, DataDir: t.TempDir(), Seed: 1,
		Clock: func() time.Time { at = at.Add(time.Second); return at },
	})
	said := shown()
	var rows []map[string]any
	if err := json.Unmarshal(out.Bytes(), &rows); code != 0 || err != nil || len(rows) != 9 {
		t.Fatalf("exit code %d, %v: %s", code, err, out.String())
	}
	drawn := strings.Split(said, "\r")[1:]
	bar := regexp.MustCompile(`^(#*)(·*) +(\d+) %, ((\d+h)?(\d+m)?\d+s) left \x1b\[K$`)
	full := -1
	for _, text := range drawn[:len(drawn)-1] {
		m := bar.FindStringSubmatch(text)
		if m == nil || utf8.RuneCountInString(m[1]+m[2]) != 30 || len(m[1]) < full {
			t.Fatalf("drawn %q after %d of 30", text, full)
		}
		full = len(m[1])
	}
	if len(drawn) < 20 || full != 30 || drawn[len(drawn)-1] != "\x1b[K" {
		t.Errorf("%d drawings, %d of 30 full, then %q", len(drawn), full, drawn[len(drawn)-1])
	}
}
