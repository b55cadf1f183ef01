package practice_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/tools"
)

func (d *desk) day(minutes int) practice.Day {
	return practice.Day{Tools: tools.All(), Condition: headphones, Minutes: minutes, Now: d.now}
}

func (d *desk) plan(minutes int) practice.Plan {
	d.t.Helper()
	p, err := d.state.Plan(d.day(minutes))
	if err != nil {
		d.t.Fatal(err)
	}
	return p
}

// Whatever is wanted: the minutes add up, to 60 at most; no 30 minutes pass
// without a break; every block has trials and a reason of one sentence.
func TestPlanOfAnyLength(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(60, 1, "eq-band"), 60)
	for minutes := 1; minutes <= 200; minutes++ {
		for _, only := range []int{1, 2, len(tools.All())} {
			day := d.day(minutes)
			day.Tools = day.Tools[:only]
			p, err := d.state.Plan(day)
			if err != nil {
				t.Fatal(err)
			}
			sum, since := 0, 0
			for i, b := range p.Blocks {
				sum, since = sum+b.Minutes, since+b.Minutes
				if since > 30 {
					t.Fatalf("%d minutes, %d drills: %d without a break", minutes, only, since)
				}
				if b.BreakAfter {
					since = 0
				}
				if b.Trials < 1 || b.Minutes < 1 || !strings.HasSuffix(b.Reason, ".") || strings.Count(b.Reason, ". ") > 0 {
					t.Fatalf("%d minutes: %+v", minutes, b)
				}
				if b.BreakAfter && i == len(p.Blocks)-1 {
					t.Errorf("%d minutes: a break after the end", minutes)
				}
			}
			if sum != min(minutes, 60) || p.Minutes != sum || (p.Advice != "") != (minutes > 60) {
				t.Fatalf("%d minutes wanted: %d planned, advice %q", minutes, sum, p.Advice)
			}
		}
	}
}

func TestPlanRefuses(t *testing.T) {
	d := newDesk(t, 3)
	day := d.day(0)
	if _, err := d.state.Plan(day); err == nil {
		t.Error("no minutes were planned")
	}
	day.Minutes, day.Tools = 10, nil
	if _, err := d.state.Plan(day); err == nil {
		t.Error("no drills were planned")
	}
}

// A newcomer meets one new drill after the other, in the order of the table.
func TestPlanOfANewcomer(t *testing.T) {
	p := newDesk(t, 3).plan(15)
	for i, b := range p.Blocks {
		if b.Drill != tools.All()[i].ID || !strings.HasPrefix(b.Reason, "New: not yet practised on headphones") || b.Trials != 20 {
			t.Errorf("block %d: %s, %d trials, %q", i, b.Drill, b.Trials, b.Reason)
		}
	}
	if len(p.Blocks) != 3 {
		t.Errorf("%d blocks", len(p.Blocks))
	}
}

// What is due comes first, what was practised before what is new, and one new
// drill at most.
func TestPlanOrder(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(200, 1, "eq-band"), 200)
	d.now = d.now.Add(24 * 9 * time.Hour)
	p := d.plan(20)
	first := p.Blocks[0]
	if first.Drill != "eq-band" || !strings.HasPrefix(first.Reason, "A review is due: last practised 9 days ago") || len(first.Regions) == 0 {
		t.Errorf("first %s: %q of %v", first.Drill, first.Reason, first.Regions)
	}
	if second := p.Blocks[1]; !strings.HasPrefix(second.Reason, "New") {
		t.Errorf("then %s: %q", second.Drill, second.Reason)
	}
	again := d.plan(20)
	if diff := cmp.Diff(p, again, cmpopts.IgnoreFields(practice.Block{}, "Tool", "Rung")); diff != "" {
		t.Errorf("the same day planned twice: %s", diff)
	}
	d.sit(d.engine(30, 2, "eq-band"), 30)
	if b := d.plan(10).Blocks[0]; b.Drill != "eq-band" || strings.HasPrefix(b.Reason, "A review") {
		t.Errorf("reviewed, and then %s: %q", b.Drill, b.Reason)
	}
}

// Drills that are easily taken for each other come side by side.
func TestPlanPairs(t *testing.T) {
	var a, b drills.Tool
	for _, tool := range tools.All() {
		if len(tool.Confusable) > 0 && b.ID == "" {
			a = tool
			b, _ = tools.Find(tool.Confusable[0])
		}
	}
	if b.ID == "" {
		t.Fatal("no drill names another that it is taken for")
	}
	d := newDesk(t, 3)
	practised := []string{a.ID, "eq-band", b.ID}
	for i, id := range practised {
		tool, err := tools.Find(id)
		if err != nil {
			t.Fatal(err)
		}
		truth := drills.Record{At: d.now.Add(time.Duration(i) * time.Minute), Trial: drills.Trial{Number: 1, Tool: id, Rung: tool.Rungs[0].ID,
			Condition: headphones, Choices: 2, AudibleDB: 3, Level: tool.Level.Neutral, Asked: map[string]float64{"freqHz": 1000},
			Truth: map[string]float64{"freqHz": 1000}}}
		d.state.Learn(truth)
	}
	d.now = d.now.Add(time.Hour)
	p := d.plan(15)
	var order []string
	for _, block := range p.Blocks {
		order = append(order, block.Drill)
	}
	if i, j := slices.Index(order, a.ID), slices.Index(order, b.ID); i < 0 || j-i != 1 || !strings.Contains(p.Blocks[j].Reason, a.Title) {
		t.Errorf("planned %v; %s and %s are easily taken for each other: %+v", order, a.ID, b.ID, p.Blocks)
	}
}

// Blocks have as many trials as the listener has time for.
func TestPlanKnowsThePace(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(60, 1, "eq-band"), 60) // answers in no time
	day := d.day(5)
	eq, _ := tools.Find("eq-band")
	day.Tools = []drills.Tool{eq}
	quick, err := d.state.Plan(day)
	if err != nil || quick.Blocks[0].Trials != 50 { // 6 s each at the least
		t.Errorf("%d trials in 5 minutes, %v", quick.Blocks[0].Trials, err)
	}
}
