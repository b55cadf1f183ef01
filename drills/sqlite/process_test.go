package sqlite_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"strop/drills/sqlite"
)

// A process of this test binary that is given a history in keepVariable keeps
// records as fast as it can and prints the number of each once it is kept.
const keepVariable = "STROP_TEST_KEEP" // "FIRST COUNT PATH"

func TestMain(m *testing.M) {
	if spec, ok := os.LookupEnv(keepVariable); ok {
		keep(spec)
		return
	}
	os.Exit(m.Run())
}

func keep(spec string) {
	words := strings.SplitN(spec, " ", 3)
	first, _ := strconv.Atoi(words[0])
	count, _ := strconv.Atoi(words[1])
	db, err := sqlite.Open(words[2])
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for i := first; i < first+count; i++ {
		if err := db.Append(context.Background(), record(i)); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Println(i)
	}
	db.Close()
}

// keeper starts such a process.
func keeper(t *testing.T, path string, first, count int) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d %d %s", keepVariable, first, count, path))
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	return cmd, bufio.NewScanner(out)
}

// Several processes open a history that does not exist yet and keep records
// at the same time; all are there.
func TestSeveralProcesses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	const processes, each = 4, 60
	done := make(chan error, processes)
	for p := range processes {
		cmd, out := keeper(t, path, p*each, each)
		go func() {
			last := ""
			for out.Scan() {
				last = out.Text()
			}
			err := cmd.Wait()
			if err != nil {
				err = fmt.Errorf("%w after %q", err, last)
			}
			done <- err
		}()
	}
	for range processes {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	checkNumbers(t, open(t, path), processes*each)
}

// Killed at any moment, by SIGKILL, a process loses nothing that it said was
// kept, and leaves the file whole.
func TestKilledAtAnyMoment(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	r := rand.New(rand.NewPCG(5, 6))
	said, next := map[int]bool{}, 0
	for range 25 {
		cmd, out := keeper(t, path, next, 1<<30)
		wait := time.Duration(r.Int64N(int64(40 * time.Millisecond)))
		if r.IntN(4) > 0 && out.Scan() { // else it may die while opening
			said[number(t, out.Text())] = true
		}
		time.Sleep(wait)
		must(t, cmd.Process.Kill())
		for out.Scan() {
			said[number(t, out.Text())] = true
		}
		cmd.Wait()
		next = checkSaid(t, path, said)
	}
	if len(said) < 100 {
		t.Errorf("only %d records were kept; this showed little", len(said))
	}
	t.Logf("%d records through 25 kills", len(said))
}

func number(t *testing.T, line string) int {
	t.Helper()
	n, err := strconv.Atoi(line)
	if err != nil {
		t.Fatalf("the keeper says: %s", line)
	}
	return n
}

// checkSaid wants every record that was said to be kept, and a whole file.
// It returns the first number that is free.
func checkSaid(t *testing.T, path string, said map[int]bool) (free int) {
	t.Helper()
	db := open(t, path)
	defer db.Close()
	if db.Damaged() != "" {
		t.Fatal("the history was damaged")
	}
	there := map[int]bool{}
	for _, r := range all(t, db) {
		there[r.Trial.Number] = true
		free = max(free, r.Trial.Number+1)
	}
	for n := range said {
		if !there[n] {
			t.Fatalf("record %d was said to be kept and is lost", n)
		}
	}
	other := raw(t, path)
	defer other.Close()
	var verdict string
	must(t, other.QueryRow(`PRAGMA integrity_check`).Scan(&verdict))
	if verdict != "ok" {
		t.Fatal(verdict)
	}
	return free
}
