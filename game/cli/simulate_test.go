package cli_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// simulations are one small call of each experiment.
var simulations = map[string]string{
	"precision": "precision --runs 4 --slope 2,3.5 --lapse 0.02 --trials 30,20,30",
	"coverage":  "coverage --runs 4 --slope 3 --lapse 0.02 --trials 30",
	"policy":    "policy --runs 2 --listener usual,lapses --learning flat --keep 0.9 --sessions 3 --trials 24",
	"verdict":   "verdict --runs 20",
}

// Same seed, same figures, however many processors; another seed, others.
func TestSimulationsAreRepeatable(t *testing.T) {
	for name, line := range simulations {
		on := func(processors int, seed string) string {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
			return must(t, t.TempDir(), "", append([]string{"simulate"}, strings.Fields(line+" --json --seed "+seed)...)...)
		}
		if on(1, "7") != on(4, "7") {
			t.Errorf("%s: figures depend on the number of processors", name)
		}
		if on(1, "7") == on(1, "8") {
			t.Errorf("%s: the seed changes nothing", name)
		}
	}
}

// The names of the rows' fields, which other programs read.
func TestSimulationRows(t *testing.T) {
	for name, want := range map[string]struct {
		rows   int
		fields string
	}{
		"precision": {9 * 2 * 2, "accuracy biasDB coverage90 lapse method monteCarloErrorDB rmseDB slope trials"},
		"coverage":  {4 * 2, "biasDB coverage90 fallDB lapse method monteCarloError rmseDB slope trials"},
		"policy": {2 * 2, "accuracy forgetting gain gainAfter30Days goalsMet goalsMetError learning listener monteCarloError policy " +
			"worstSkillGain"},
		"verdict": {15, "byLevel fail listener monteCarloError notReady pass ready share trials"},
	} {
		var rows []map[string]any
		line := append([]string{"simulate"}, strings.Fields(simulations[name]+" --json")...)
		if err := json.Unmarshal([]byte(must(t, t.TempDir(), "", line...)), &rows); err != nil {
			t.Fatal(err)
		}
		if len(rows) != want.rows {
			t.Errorf("%s: %d rows, want %d", name, len(rows), want.rows)
		}
		var fields []string
		for field := range rows[0] {
			fields = append(fields, field)
		}
		slices.Sort(fields)
		if got := strings.Join(fields, " "); got != want.fields {
			t.Errorf("%s: fields %s, want %s", name, got, want.fields)
		}
		text := must(t, t.TempDir(), "", append([]string{"simulate"}, strings.Fields(simulations[name])...)...)
		if lines := strings.Count(text, "\n"); lines != want.rows+3 || !strings.Contains(text, "±") {
			t.Errorf("%s: a table of %d lines:\n%s", name, lines, text)
		}
	}
}

// What cannot be run is one sentence, and nothing is printed.
func TestSimulationsRefuse(t *testing.T) {
	for _, line := range []string{
		"precision --runs 0", "precision --runs=-3", "precision --runs 99999999999", "precision --runs 99999999999999999999",
		"precision --slope steep", "precision --slope NaN", "precision --slope=", "precision --slope 1e9", "precision --slope 2,,3",
		"precision --lapse 0.9", "precision --lapse=-0.1", "precision --trials 0", "precision --trials 1e9", "precision --trials 1.5",
		"coverage --fall 3", "coverage --fall Inf", "coverage --runs 0",
		"policy --policy nonsense", "policy --policy=", "policy --listener nobody", "policy --learning none", "policy --keep 0", "policy --keep 2",
		"policy --skills 1", "policy --skills 100000", "policy --sessions 0", "policy --trials 100000000", "policy --runs 0",
		"verdict --runs 0", "verdict --seed soon", "guess", "",
	} {
		code, stdout, stderr := call(t, t.TempDir(), "", append([]string{"simulate"}, strings.Fields(line)...)...)
		if code != 2 || stdout != "" || strings.Count(stderr, "\n") != 1 {
			t.Errorf("simulate %s: exit code %d, %q, %q", line, code, stdout, stderr)
		}
	}
}

// Ctrl-C ends an experiment at once, with one sentence and no figures.
func TestSimulationStops(t *testing.T) {
	cmd := exec.Command(os.Args[0], "simulate", "verdict", "--runs", "300000")
	cmd.Env = append(os.Environ(), asProgram+"="+t.TempDir())
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(500 * time.Millisecond)
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	err := cmd.Wait()
	if exit := new(exec.ExitError); !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Errorf("ended with %v", err)
	}
	if want := "strop: stopped before the last run, so there are no figures\n"; stderr.String() != want || stdout.Len() > 0 {
		t.Errorf("said %q and %q", stdout.String(), stderr.String())
	}
}
