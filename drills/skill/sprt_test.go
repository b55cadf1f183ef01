package skill_test

import (
	"fmt"
	"math"
	"testing"

	"strop/drills/skill"
)

// Wald's test; steps, limits and exact operating values computed independently
// by dynamic programming, to the places printed.
func TestSPRTOperatingValues(t *testing.T) {
	for _, c := range []struct {
		test         skill.SPRT
		right, wrong float64
		pass, fail   float64
		at0, at1     [2]float64 // chance to pass, mean trials
		high         [3]float64 // share, chance to pass, mean trials
		capped       [2]float64 // chance to pass at p₀ and p₁, decided at 60
	}{
		{skill.SPRT{P0: .50, P1: .75, Alpha: .05, Beta: .05}, .40547, -.69315, 2.9444, -2.9444, [2]float64{.0428, 20.8}, [2]float64{.9628, 22.1}, [3]float64{.90, .9999, 10.6}, [2]float64{.0499, .9598}},
		{skill.SPRT{P0: .50, P1: .80, Alpha: .05, Beta: .05}, .47000, -.91629, 2.9444, -2.9444, [2]float64{.0368, 13.8}, [2]float64{.9643, 15.8}, [3]float64{.90, .9989, 10.0}, [2]float64{.0375, .9639}},
		{skill.SPRT{P0: .50, P1: .75, Alpha: .01, Beta: .05}, .40547, -.69315, 4.5539, -2.9857, [2]float64{.0084, 22.3}, [2]float64{.9620, 34.0}, [3]float64{.90, .9999, 16.0}, [2]float64{.0237, .9577}},
		{skill.SPRT{P0: .65, P1: .85, Alpha: .05, Beta: .05}, .26826, -.84730, 2.9444, -2.9444, [2]float64{.0448, 24.8}, [2]float64{.9642, 28.2}, [3]float64{.90, .9967, 19.4}, [2]float64{.0569, .9550}},
		{skill.SPRT{P0: .70, P1: .90, Alpha: .05, Beta: .05}, .25131, -1.09861, 2.9444, -2.9444, [2]float64{.0450, 20.1}, [2]float64{.9663, 24.5}, [3]float64{.95, .9983, 16.6}, [2]float64{.0535, .9635}},
		{skill.SPRT{P0: .70, P1: .85, Alpha: .05, Beta: .05}, .19416, -.69315, 2.9444, -2.9444, [2]float64{.0458, 40.8}, [2]float64{.9615, 45.9}, [3]float64{.90, .9980, 28.8}, [2]float64{.1039, .9348}},
	} {
		name := fmt.Sprintf("%g/%g, α %g", c.test.P0, c.test.P1, c.test.Alpha)
		right, wrong := c.test.Steps()
		pass, fail := c.test.Limits()
		within(t, name+" right", right, c.right, 6e-6)
		within(t, name+" wrong", wrong, c.wrong, 6e-6)
		within(t, name+" pass limit", pass, c.pass, 6e-5)
		within(t, name+" fail limit", fail, c.fail, 6e-5)
		for share, want := range map[float64][2]float64{c.test.P0: c.at0, c.test.P1: c.at1, c.high[0]: {c.high[1], c.high[2]}} {
			at := c.test.Operating(share)
			within(t, fmt.Sprintf("%s, pass at %g", name, share), at.Pass, want[0], 6e-5)
			within(t, fmt.Sprintf("%s, trials at %g", name, share), at.MeanTrials, want[1], .051)
			within(t, "all verdicts", at.Pass+at.Fail+at.Undecided, 1, 1e-9)
		}
		capped := c.test
		capped.Cap, capped.CapDecides = 60, true
		within(t, name+", capped, pass at p₀", capped.Operating(c.test.P0).Pass, c.capped[0], 6e-5)
		within(t, name+", capped, pass at p₁", capped.Operating(c.test.P1).Pass, c.capped[1], 6e-5)
	}
}

// In counts, the reference test passes at k ≥ 2.639 + 0.7595n and fails at
// k ≤ −2.639 + 0.7595n (computed independently); counts too close to a limit
// for four places are left out.
func TestReferenceTestInCounts(t *testing.T) {
	uncapped := skill.ReferenceTest
	uncapped.Cap = 0
	for n := 1; n <= 200; n++ {
		for k := range n + 1 {
			want, away := skill.Undecided, float64(k)-.7595*float64(n)
			switch {
			case math.Abs(math.Abs(away)-2.639) < .015:
				continue
			case away > 2.639:
				want = skill.Pass
			case away < -2.639:
				want = skill.Fail
			}
			if got, over := uncapped.Decide(k, n); got != want || over != (want != skill.Undecided) {
				t.Fatalf("%d of %d: %v, want %v", k, n, got, want)
			}
		}
	}
}

func TestSequentialEnds(t *testing.T) {
	q := skill.Sequential{Test: skill.ReferenceTest}
	for range 30 {
		q.Update(true)
	}
	if v, over := q.Verdict(); v != skill.Pass || !over {
		t.Errorf("all right: %v, over %t", v, over)
	}
	if _, n := q.Count(); n != 11 { // 11·0.26826 is the first above 2.9444
		t.Errorf("all right needs %d answers, want 11", n)
	}
	open := skill.Sequential{Test: skill.SPRT{P0: .65, P1: .85, Alpha: .05, Beta: .05, Cap: 4}}
	for range 4 {
		open.Update(true)
	}
	if v, over := open.Verdict(); v != skill.Undecided || !over {
		t.Errorf("after a cap that does not decide: %v, over %t", v, over)
	}
}

func TestImpossibleSequentialTests(t *testing.T) {
	for _, s := range []skill.SPRT{{P0: .8, P1: .6, Alpha: .05, Beta: .05}, {P0: .5, P1: 1, Alpha: .05, Beta: .05},
		{P0: .5, P1: .8, Alpha: .6, Beta: .4}, {P0: .5, P1: .8, Alpha: 0, Beta: .05}, {P0: .5, P1: .8, Alpha: .05, Beta: .05, Cap: -1}} {
		if s.Validate() == nil {
			t.Errorf("%+v was accepted", s)
		}
	}
	if err := skill.ReferenceTest.Validate(); err != nil {
		t.Error(err)
	}
}
