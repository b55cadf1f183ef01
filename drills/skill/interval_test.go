package skill_test

import (
	"fmt"
	"math"
	"testing"

	"strop/drills/skill"
)

// 95 % intervals computed independently from the published formulas, to four
// places; 81/263, 15/148, 0/20 and 1/29 are R. G. Newcombe's examples
// (Statistics in Medicine 17, 1998; from memory).
func TestShareIntervals(t *testing.T) {
	type interval = skill.Interval
	none := interval{-1, -1}
	for _, c := range []struct {
		count, n                  int
		wilson, clopper, jeffreys interval
	}{
		{81, 263, interval{.2553, .3662}, none, none},
		{15, 148, interval{.0624, .1605}, none, none},
		{0, 20, interval{0, .1611}, none, none},
		{1, 29, interval{.0061, .1718}, none, none},
		{8, 10, interval{.4902, .9433}, interval{.4439, .9748}, interval{.4972, .9559}},
		{10, 10, interval{.7225, 1}, interval{.6915, 1}, interval{.7828, 1}},
		{12, 16, interval{.5050, .8982}, interval{.4762, .9273}, interval{.5093, .9092}},
		{16, 20, interval{.5840, .9193}, interval{.5634, .9427}, interval{.5918, .9285}},
		{18, 20, interval{.6990, .9721}, interval{.6830, .9877}, interval{.7161, .9786}},
		{20, 20, interval{.8389, 1}, interval{.8316, 1}, interval{.8834, 1}},
		{24, 30, interval{.6269, .9049}, interval{.6143, .9229}, interval{.6334, .9119}},
		{45, 50, interval{.7864, .9565}, interval{.7819, .9667}, interval{.7946, .9608}},
		{85, 100, interval{.7672, .9069}, interval{.7647, .9135}, interval{.7705, .9096}},
		{0, 10, interval{0, .2775}, interval{0, .3085}, interval{0, .2172}},
	} {
		for name, pair := range map[string][2]interval{
			"Wilson":          {skill.Wilson(c.count, c.n, 0.95), c.wilson},
			"Clopper–Pearson": {skill.ClopperPearson(c.count, c.n, 0.95), c.clopper},
			"Jeffreys":        {skill.Jeffreys(c.count, c.n, 0.95), c.jeffreys},
		} {
			got, want := pair[0], pair[1]
			if want != none && (math.Abs(got.Lo-want.Lo) > 6e-5 || math.Abs(got.Hi-want.Hi) > 6e-5) {
				t.Errorf("%s %d/%d: %.4f–%.4f, want %.4f–%.4f", name, c.count, c.n, got.Lo, got.Hi, want.Lo, want.Hi)
			}
		}
	}
}

func TestShareOfNone(t *testing.T) {
	for name, of := range map[string]func(int, int, float64) skill.Interval{
		"Wilson": skill.Wilson, "Clopper–Pearson": skill.ClopperPearson, "Jeffreys": skill.Jeffreys,
	} {
		if got := of(0, 0, 0.95); got != (skill.Interval{Lo: 0, Hi: 1}) {
			t.Errorf("%s of none: %v", name, got)
		}
	}
}

// Student's own data, Biometrika 6 (1908): hours of sleep gained by ten
// patients. R's documentation of t.test gives mean 1.58, 95 % interval
// 0.7001142 to 2.4598858.
func TestMeanOfStudentsSleep(t *testing.T) {
	got := skill.MeanOf([]float64{1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4}, 0.95)
	if math.Abs(got.Mean-1.58) > 1e-9 || math.Abs(got.Interval.Lo-0.7001142) > 1e-6 || math.Abs(got.Interval.Hi-2.4598858) > 1e-6 {
		t.Errorf("%+v", got)
	}
}

// Two-sided 95 % points of Student's t, as printed in every table.
func TestStudentPoints(t *testing.T) {
	for df, want := range map[int]float64{1: 12.706, 2: 4.303, 4: 2.776, 10: 2.228, 30: 2.042, 120: 1.980} {
		x := make([]float64, df+1)
		for i := range x {
			x[i] = float64(i % 2)
		}
		m := skill.MeanOf(x, 0.95)
		n := float64(df + 1)
		ones := float64((df + 1) / 2)
		deviation := math.Sqrt(ones * (n - ones) / n / (n - 1))
		if got := (m.Interval.Hi - m.Mean) / deviation * math.Sqrt(n); math.Abs(got-want) > 6e-4 {
			t.Errorf("%d degrees of freedom: %.4f, want %.3f", df, got, want)
		}
	}
}

func TestMeanOfTooFew(t *testing.T) {
	if m := skill.MeanOf([]float64{3}, 0.95); m.Mean != 3 || !m.Interval.Contains(-1e300) || !m.Interval.Contains(1e300) {
		t.Errorf("one value tells %+v", m)
	}
	if !math.IsNaN(skill.MeanOf(nil, 0.95).Mean) || !math.IsNaN(skill.Median(nil)) {
		t.Error("none have a mean or a median")
	}
}

func TestMedian(t *testing.T) {
	for want, x := range map[float64][]float64{2: {3, 1, 2}, 2.5: {4, 1, 3, 2}, 7: {7}} {
		first := x[0]
		if got := skill.Median(x); got != want || x[0] != first {
			t.Errorf("%v: %g, want %g", x, got, want)
		}
	}
}

func ExampleWilson() {
	in := skill.Wilson(16, 20, 0.95)
	fmt.Printf("16 of 20 right: 80 %%, %.0f to %.0f %%\n", 100*in.Lo, 100*in.Hi)
	// Output: 16 of 20 right: 80 %, 58 to 92 %
}
