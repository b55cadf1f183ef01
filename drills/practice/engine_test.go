package practice_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/skill"
	"strop/drills/tools"
	"strop/dsp"
)

var headphones = drills.Condition{Transducer: "headphones", Heard: drills.InMix}

// desk is a listener without sound: trials are as audible as was aimed at, and
// are right as a Weibull function of that says.
type desk struct {
	t         *testing.T
	state     *practice.State
	now       time.Time
	records   []drills.Record
	threshold func(region string, loop int) float64 // dB of excitation
	slope     float64
	lapse     float64
	r         *rand.Rand
}

func newDesk(t *testing.T, audibleDB float64) *desk {
	return &desk{
		t: t, state: practice.NewState(tools.Find), now: time.Date(2026, 4, 1, 8, 0, 0, 0, time.UTC),
		threshold: func(string, int) float64 { return audibleDB }, slope: 3, lapse: 0.02, r: rand.New(rand.NewPCG(3, 9)),
	}
}

func (d *desk) engine(trials int, seed uint64, ids ...string) *practice.Engine {
	cfg := practice.Config{State: d.state, Condition: headphones, Trials: trials, Seed: seed, Clock: func() time.Time { return d.now }}
	for _, id := range ids {
		tool, err := tools.Find(id)
		if err != nil {
			d.t.Fatal(err)
		}
		rung, _ := tool.Rung("five")
		if rung.ID == "" {
			rung = tool.Rungs[0]
		}
		cfg.Parts = append(cfg.Parts, practice.Part{Tool: tool, Rung: rung})
	}
	return practice.NewEngine(cfg)
}

// sit answers a sitting, and returns what was asked.
func (d *desk) sit(e *practice.Engine, trials int) (asked []drills.Asking) {
	for number := 1; number <= trials; number++ {
		a := e.Next(number)
		asked = append(asked, a)
		record := d.answer(a, number)
		d.records = append(d.records, record)
		e.Told(record)
		d.now = d.now.Add(20 * time.Second)
	}
	return asked
}

func (d *desk) answer(a drills.Asking, number int) drills.Record {
	truth := dsp.Setting{"freqHz": dsp.ThirdOctaveHz(7 + 5*d.r.IntN(5)), "gainDB": 6, "q": 1.4}
	for a.Region != "" && a.Tool.Region(truth) != a.Region {
		truth["freqHz"] = dsp.ThirdOctaveHz(7 + 5*d.r.IntN(5))
	}
	loop := d.r.IntN(4)
	place := drills.Loop{Material: "m", StartFrame: loop * 480000}
	audible := a.AimDB * dsp.FromDB(a.HarderDB(place))
	p := skill.WeibullDB(a.Tool.Chance(len(a.Rung.Choices)))(20*math.Log10(audible), 20*math.Log10(d.threshold(a.Tool.Region(truth), loop)), d.slope, d.lapse)
	right := d.r.Float64() < p
	guess := truth
	if !right {
		guess = truth.With("freqHz", 1000.5)
	}
	return drills.Record{
		At: d.now,
		Trial: drills.Trial{
			Number: number, Tool: a.Tool.ID, Rung: a.Rung.ID, Condition: a.Condition, Kind: a.Kind, Loop: place, Choices: len(a.Rung.Choices),
			Level: a.Level, Asked: truth, Truth: truth, AudibleDB: audible, Chance: a.Chance,
		},
		Answer: drills.Answer{Guess: guess}, Score: drills.Score{Right: right},
	}
}

// The threshold that a listener has is found, in every region, and trials are
// right about as often as is aimed at.
func TestThresholdIsFound(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(400, 1, "eq-band"), 400)
	for _, k := range d.state.Skills() {
		got := d.state.Known(k).ThresholdDB()
		want := 20 * math.Log10(3/0.5)
		if miss := got.Mean() - want; math.Abs(miss) > 3 {
			t.Errorf("%s: %.1f dB, want %.1f after %d trials", k.Region, got.Mean(), want, d.state.Known(k).Trials)
		}
	}
	right := 0
	for _, r := range d.records[200:] {
		if r.Score.Right {
			right++
		}
	}
	if share := float64(right) / 200; share < 0.70 || share > 0.90 {
		t.Errorf("%.2f right, aimed at %.3f", share, skill.ManyChoiceTarget)
	}
}

// Replaying the records gives the state that the sitting had.
func TestReplay(t *testing.T) {
	d := newDesk(t, 2)
	d.sit(d.engine(120, 1, "eq-band"), 120)
	d.now = d.now.Add(50 * time.Hour)
	d.sit(d.engine(60, 2, "eq-band"), 60)
	again, err := practice.Replay(func(yield func(drills.Record, error) bool) {
		for _, r := range d.records {
			if !yield(r, nil) {
				return
			}
		}
	}, tools.Find)
	if err != nil || len(again.Skills()) != len(d.state.Skills()) || again.Records() != 180 {
		t.Fatalf("%v: %d skills of %d records", err, len(again.Skills()), again.Records())
	}
	for _, k := range d.state.Skills() {
		if a, b := d.state.Known(k).ThresholdDB().Mean(), again.Known(k).ThresholdDB().Mean(); a != b {
			t.Errorf("%s: %g dB in the sitting, %g by replay", k.Region, a, b)
		}
	}
	if diff := cmp.Diff(planned(d.state, d.now), planned(again, d.now)); diff != "" {
		t.Errorf("the next sitting differs: %s", diff)
	}
}

// The same seed plans the same sitting, another one another.
func TestSameSeedSamePlan(t *testing.T) {
	plan := func(seed uint64) (plan []string) {
		d := newDesk(t, 3)
		d.sit(d.engine(100, 1, "eq-band"), 100)
		for _, a := range d.sit(d.engine(60, seed, "eq-band"), 60) {
			plan = append(plan, a.Region+string(a.Kind))
		}
		return plan
	}
	one, two, other := plan(5), plan(5), plan(6)
	differ := 0
	for i := range one {
		if one[i] != two[i] {
			t.Fatalf("trial %d is %s and %s", i+1, one[i], two[i])
		}
		if one[i] != other[i] {
			differ++
		}
	}
	if differ < 10 {
		t.Errorf("another seed differs in %d of 60 trials", differ)
	}
}

// No skill comes more than twice in a row, and every one has its share.
func TestRoundsAreBalanced(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(100, 1, "eq-band"), 100)
	asked := d.sit(d.engine(120, 4, "eq-band"), 120)
	count := map[string]int{}
	for i, a := range asked {
		count[a.Region]++
		if i > 1 && a.Region == asked[i-1].Region && a.Region == asked[i-2].Region {
			t.Errorf("trial %d is the third in a row on %q", i+1, a.Region)
		}
	}
	for region, n := range count {
		if n < 12 || n > 28 { // 120 trials over five regions and the open one
			t.Errorf("%q is asked %d times of 120", region, n)
		}
	}
}

// After days without practice a review opens with probes that are not told;
// the next day it does not.
func TestReviewsAreProbed(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(200, 1, "eq-band"), 200)
	probes := func() (n int) {
		for _, a := range d.sit(d.engine(80, 2, "eq-band"), 80) {
			if a.Kind == drills.Probe {
				n++
			}
		}
		return n
	}
	d.now = d.now.Add(20 * time.Hour)
	if n := probes(); n != 0 {
		t.Errorf("%d probes on the next day", n)
	}
	d.now = d.now.Add(24 * 9 * time.Hour)
	if n := probes(); n < 12 {
		t.Errorf("%d probes after nine days", n)
	}
	if drills.Probe.Told() {
		t.Error("a probe is told")
	}
}

// What was learned fades day by day: the chance that it still holds falls, and
// a review is due once it is under 0.85, however many reviews went well.
func TestKnowledgeFades(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(300, 1, "eq-band"), 300)
	for _, skill := range d.state.Skills() {
		k := d.state.Known(skill)
		k.Passed = 9
		last := 1.0
		for days := range 60 {
			now := k.Last.Add(time.Duration(24*days)*time.Hour + time.Hour)
			holds := k.Holds(now)
			if holds > last+1e-9 {
				t.Fatalf("%s: %.3f after %d days, %.3f the day before", skill.Region, holds, days, last)
			}
			if due := k.Due(now); due != (holds < 0.85 || days >= 45) {
				t.Errorf("%s: due %v after %d days, where it holds by %.3f", skill.Region, due, days, holds)
			}
			last = holds
		}
		if last > 0.9 {
			t.Errorf("%s: holds by %.3f after 59 days", skill.Region, last)
		}
	}
}

// A loop that is harder than the others is asked about more plainly, so that
// the threshold holds for all.
func TestHarderLoop(t *testing.T) {
	d := newDesk(t, 3)
	d.threshold = func(_ string, loop int) float64 {
		if loop == 2 {
			return 4.2 // 3 dB harder
		}
		return 3
	}
	asked := d.sit(d.engine(600, 1, "eq-band"), 600)
	last := asked[len(asked)-1]
	hard, usual := last.HarderDB(drills.Loop{Material: "m", StartFrame: 2 * 480000}), last.HarderDB(drills.Loop{Material: "m", StartFrame: 480000})
	if hard < usual+0.3 {
		t.Errorf("the hard loop is known as %.2f dB harder, another as %.2f", hard, usual)
	}
}

// What was shown on headphones says nothing about loudspeakers.
func TestConditionsAreApart(t *testing.T) {
	d := newDesk(t, 1)
	d.sit(d.engine(150, 1, "eq-band"), 150)
	tool, _ := tools.Find("eq-band")
	here, _ := d.state.Stand(tool, "five", headphones, false)
	there, _ := d.state.Stand(tool, "five", drills.Condition{Transducer: "loudspeakers", Heard: drills.InMix}, false)
	fresh, _ := practice.NewState(tools.Find).Stand(tool, "five", headphones, false)
	if there.Level != fresh.Level || here.Level >= fresh.Level {
		t.Errorf("level %.2f on headphones, %.2f on loudspeakers, %.2f for a newcomer", here.Level, there.Level, fresh.Level)
	}
}

// A year of practice replayed; what a sitting waits for.
func BenchmarkReplay(b *testing.B) {
	d := newDesk(&testing.T{}, 3)
	d.sit(d.engine(5000, 1, "eq-band"), 5000)
	b.ReportAllocs()
	for b.Loop() {
		s := practice.NewState(tools.Find)
		for _, r := range d.records {
			s.Learn(r)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/5000, "µs/record")
}
