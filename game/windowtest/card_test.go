//go:build linux

package windowtest

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"strop/dsp"
)

const (
	rateHz   = 48000
	paceInto = "STROP_TEST_PACE_INTO" // the folder that this binary, as a sound card, writes to
)

// The window plays to a sound card that is this very binary: ALSA's file
// plug-in pipes to it what reaches the device, it takes that at the pace of a
// card, and writes it down.
func TestMain(m *testing.M) {
	if dir := os.Getenv(paceInto); dir != "" {
		if err := pace(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// pace copies frames from standard input to a file named after the process,
// no faster than a card at 48 kHz would.
func pace(dir string) error {
	const frameBytes, setPipeSize = 8, 1031
	_, _, _ = syscall.Syscall(syscall.SYS_FCNTL, 0, setPipeSize, 4096) // else it holds 170 ms
	out, err := os.Create(filepath.Join(dir, strconv.Itoa(os.Getpid())))
	if err != nil {
		return err
	}
	var ms [rateHz / 1000 * frameBytes]byte
	for due := time.Now(); ; due = due.Add(time.Millisecond) {
		n, err := io.ReadFull(os.Stdin, ms[:])
		if _, failed := out.Write(ms[:n]); failed != nil {
			return failed
		}
		if err != nil {
			return out.Close()
		}
		time.Sleep(time.Until(due))
	}
}

// newCard makes this binary the only sound card, and is the folder it writes
// to and what a program needs in its environment to play there.
func newCard(t testing.TB) (dir string, env []string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	path := filepath.Join(t.TempDir(), "asound.conf")
	text := fmt.Sprintf(`
pcm.default { type plug slave.pcm "captured" }
pcm.captured { type file slave.pcm "nowhere" file "| GORACE=atexit_sleep_ms=0 %s='%s' exec '%s'" format "raw" }
pcm.nowhere { type null }
`, paceInto, dir, self)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return dir, []string{"ALSA_CONFIG_PATH=" + path}
}

// captured is all that reached the card, in the order in which it was opened.
func captured(t testing.TB, dir string) (frames [][2]float32) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		raw, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for ; len(raw) >= 8; raw = raw[8:] {
			frames = append(frames, [2]float32{
				math.Float32frombits(binary.LittleEndian.Uint32(raw)), math.Float32frombits(binary.LittleEndian.Uint32(raw[4:])),
			})
		}
	}
	return frames
}

// heard is a stretch of a side that reached the card, to the last bit.
type heard struct{ trial, side int }

// block is how many frames have to be the same in a row.
const block = 1200

// recognise looks, in every block of what was captured, for the sides that it
// may be a piece of: several, where sides are alike.
func recognise(played [][2]float32, sides map[heard][]dsp.Frame) (found [][]heard, unknown int) {
	starts := map[[2]float32][]int{} // of blocks that sound
	for at := 0; at+block <= len(played); at += block {
		if f := played[at]; f != [2]float32{} {
			starts[f] = append(starts[f], at)
		}
	}
	at := map[int][]heard{}
	for name, side := range sides {
		for i := range side {
			for _, start := range starts[narrow(side[i])] {
				if same(played[start:start+block], side, i) {
					at[start] = append(at[start], name)
				}
			}
		}
	}
	for start := 0; start+block <= len(played); start += block {
		switch {
		case at[start] != nil:
			found = append(found, at[start])
		case played[start] != [2]float32{}:
			unknown++
		}
	}
	return found, unknown
}

func narrow(f dsp.Frame) [2]float32 { return [2]float32{float32(f[0]), float32(f[1])} }

// same reports whether played is side from frame i on, round and round.
func same(played [][2]float32, side []dsp.Frame, i int) bool {
	for k, f := range played {
		if f != narrow(side[(i+k)%len(side)]) {
			return false
		}
	}
	return true
}
