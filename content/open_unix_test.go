//go:build unix

package content

import (
	"path/filepath"
	"syscall"
	"testing"

	"strop/content/pcm/pcmtest"
)

// Opening a pipe that nobody writes to would wait for ever.
func TestPipeIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fifo.wav")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(path)
	if err == nil {
		t.Fatal("a pipe was opened")
	}
	pcmtest.CheckSentence(t, err)
}
