package cli_test

import (
	"encoding/json"
	"strings"
	"testing"

	"strop/drills/practice"
)

func TestPlan(t *testing.T) {
	dir := t.TempDir()
	text := must(t, dir, "", "plan", "--minutes", "40", "--transducer", "headphones")
	if !strings.Contains(text, "New: not yet practised on headphones.") || strings.Count(text, "A break") != 1 {
		t.Error(text)
	}
	var plan practice.Plan
	if err := json.Unmarshal([]byte(must(t, dir, "", "plan", "--minutes", "90", "--stems", "--json")), &plan); err != nil {
		t.Fatal(err)
	}
	if plan.Minutes != 60 || len(plan.Blocks) != 6 || !strings.Contains(plan.Advice, "60 minutes") {
		t.Errorf("%+v", plan)
	}
	for _, minutes := range []string{"0", "-5", "soon"} {
		if code, stdout, stderr := call(t, dir, "", "plan", "--minutes="+minutes); code != 2 || stdout != "" || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%s minutes: %d %q %q", minutes, code, stdout, stderr)
		}
	}
}
