package practice_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"strop/drills/practice"
)

func (d *desk) report(region string) practice.Report {
	d.t.Helper()
	for _, r := range d.state.Report(d.now) {
		if strings.HasPrefix(r.Skill.Region, region) {
			return r
		}
	}
	d.t.Fatalf("no report of %q", region)
	return practice.Report{}
}

// A listener who hears 3 dB of excitation: the interval of the threshold holds
// it, and on the ladder it is as many dB of gain as trials came out at.
func TestReportedThreshold(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(600, 1, "eq-band"), 600)
	covered, reports := 0, d.state.Report(d.now)
	for _, r := range reports {
		audible := r.Threshold.Audible
		if audible == nil || r.Threshold.Level == nil || r.Threshold.Unit != "dB" {
			t.Fatalf("%s: %+v", r.Skill.Region, r.Threshold)
		}
		if audible.Interval.Contains(3) {
			covered++
		}
		if audible.Value < 2 || audible.Value > 4.5 {
			t.Errorf("%s: %.2f dB of excitation", r.Skill.Region, audible.Value)
		}
		if r.Threshold.ShareRight < 0.68 || r.Threshold.ShareRight > 0.71 { // 1/6 + 5/6·(1−1/e)
			t.Errorf("right at the threshold in %.3f", r.Threshold.ShareRight)
		}
	}
	if len(reports) != 5 || covered < 4 {
		t.Errorf("%d of %d intervals hold the threshold", covered, len(reports))
	}
}

// A steady listener is told "no real change yet", one who has gained 8 dB
// "better"; with too few answers it is told how many are missing.
func TestReportedTrend(t *testing.T) {
	steady := newDesk(t, 3)
	steady.sit(steady.engine(100, 1, "eq-band"), 100)
	if r := steady.report("1 kHz"); r.Trend.Change != "" || r.Trend.Missing != 120-r.Answers {
		t.Errorf("after %d answers: %+v", r.Answers, r.Trend)
	}
	steady.sit(steady.engine(900, 2, "eq-band"), 900)
	for _, r := range steady.state.Report(steady.now) {
		if r.Trend.Change != "no real change yet" || math.Abs(*r.Trend.FellDB) > *r.Trend.LeastDB {
			t.Errorf("a steady listener, %s: %+v", r.Skill.Region, r.Trend)
		}
	}
	better := 0
	for listener := range uint64(3) {
		learns := newDesk(t, 9)
		learns.r = rand.New(rand.NewPCG(listener, 77))
		learns.sit(learns.engine(450, 1, "eq-band"), 450)
		learns.threshold = func(string, int) float64 { return 2.2 } // 12 dB on the axis
		learns.sit(learns.engine(700, 2, "eq-band"), 700)
		for _, r := range learns.state.Report(learns.now) {
			if r.Trend.Change == "better" {
				better++
			}
		}
	}
	if better < 12 {
		t.Errorf("12 dB better is seen in %d of 15 regions", better)
	}
}

// Predictions hold: of what was called likely in some tenth, about as much was
// right.
func TestReportedCalibration(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(1500, 1, "eq-band"), 1500)
	c := d.state.Calibration()
	if c.Of() != 1500-nothings(d) {
		t.Errorf("%d predictions of %d answers", c.Of(), 1500-nothings(d))
	}
	for _, bin := range c.Bins() {
		if bin.Trials >= 300 && math.Abs(bin.Gap()) > .08 {
			t.Errorf("predicted %.3f, came %.3f of %d", bin.Predicted, bin.Observed, bin.Trials)
		}
	}
}

func nothings(d *desk) (n int) {
	for _, r := range d.records {
		if len(r.Trial.Truth) == 0 {
			n++
		}
	}
	return n
}

// Retention is told from probes alone, by the days before them.
func TestReportedRetention(t *testing.T) {
	d := newDesk(t, 3)
	d.sit(d.engine(200, 1, "eq-band"), 200)
	if r := d.report("1 kHz"); len(r.Retention) != 0 {
		t.Errorf("without a probe: %+v", r.Retention)
	}
	d.now = d.now.Add(24 * 9 * time.Hour)
	d.sit(d.engine(80, 2, "eq-band"), 80)
	r := d.report("1 kHz")
	if len(r.Retention) != 1 || *r.Retention[0].UpToDays != 10 || r.Retention[0].Of < 6 {
		t.Errorf("after nine days: %+v", r.Retention)
	}
}

// What is named wrongly is told, the most frequent first, and a lean to one
// side is a bias.
func TestReportedMistakes(t *testing.T) {
	d := newDesk(t, 3)
	wrong := 0
	for _, r := range d.answered(t, 200) {
		if truth := r.Trial.Truth; !r.Score.Right && len(truth) > 0 {
			times := []float64{2, 1, 2, 8}[wrong%4]
			if truth["freqHz"] == 1000 {
				wrong++
			}
			r.Answer.Guess = truth.With("freqHz", times*truth["freqHz"])
			r.Score.Errors = map[string]float64{"errorOct": 0.5}
		} else {
			r.Score.Errors = map[string]float64{"errorOct": 0}
		}
		d.state.Learn(r)
	}
	r := d.report("1 kHz")
	if len(r.Confused) < 2 || r.Confused[0].Named != "2 kHz" || r.Bias == nil || r.Bias.Unit != "oct" || r.Bias.Mean.Mean <= 0 {
		t.Errorf("%+v, bias %+v", r.Confused, r.Bias)
	}
	for i := range r.Confused[1:] {
		if r.Confused[i+1].Named == "1 kHz" {
			t.Errorf("said instead of itself: %+v", r.Confused)
		}
		if r.Confused[i].Count < r.Confused[i+1].Count {
			t.Errorf("not in order: %+v", r.Confused)
		}
	}
}
