package practice_test

import (
	"testing"

	"strop/drills/practice"
	"strop/drills/skill"
)

// A bias is said where its interval leaves 0 out, with the smaller figure first.
func TestBiasText(t *testing.T) {
	for want, mean := range map[string]skill.Mean{
		"0.42 (0.31 to 0.53) oct high": {Mean: 0.42, Interval: skill.Interval{Lo: 0.31, Hi: 0.53}},
		"0.5 (0.2 to 0.8) oct low":     {Mean: -0.5, Interval: skill.Interval{Lo: -0.8, Hi: -0.2}},
		"":                             {Mean: 0.1, Interval: skill.Interval{Lo: -0.1, Hi: 0.3}},
	} {
		if got := (&practice.Bias{Mean: mean, Unit: "oct"}).Text(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := (*practice.Bias)(nil).Text(); got != "" {
		t.Errorf("without a bias: %q", got)
	}
}

func TestKeptText(t *testing.T) {
	day, ten := 1.0, 10.0
	r := practice.Report{Retention: []practice.Kept{{UpToDays: &day, Right: 6, Of: 6}, {UpToDays: &ten, Right: 5, Of: 6}, {Right: 2, Of: 6}}}
	if got, want := r.KeptText(), "6 of 6 after up to a day, 5 of 6 after up to 10 days, 2 of 6 after longer"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
