package cli_test

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// Killed at any moment, a sitting has lost no answer that was told right or
// wrong.
func TestKilledSittingLosesNothing(t *testing.T) {
	dir, song := t.TempDir(), songFile(t, "song.wav")
	told := 0
	for round := range 8 {
		told += sitUntilKilled(t, dir, song, time.Duration(150+round*130)*time.Millisecond)
		if got := len(exported(t, dir)); got < told {
			t.Fatalf("%d answers were told, %d are kept", told, got)
		}
	}
	if told < 8 {
		t.Errorf("only %d answers were told before the kills: they prove little", told)
	}
}

// sitUntilKilled answers trials as fast as they come until it kills the
// program, and is how many answers the program told.
func sitUntilKilled(t *testing.T, dir, song string, after time.Duration) (told int) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "text", "--silent", "--trials", "1000", "--material", song)
	cmd.Env = append(os.Environ(), asProgram+"="+dir)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { _, _ = io.WriteString(in, strings.Repeat("1\n", 1000)) }() // ends with the pipe
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "Trial 1 ") {
			time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
		}
		if strings.HasPrefix(lines.Text(), "Right.") || strings.HasPrefix(lines.Text(), "Wrong.") {
			told++
		}
	}
	_ = cmd.Wait() // it was killed
	return told
}
