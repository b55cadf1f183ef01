package skill

import (
	"fmt"
	"math"
)

// Verdict is what a test says of one skill.
type Verdict int

// Undecided is a verdict, too: the test could not tell in the trials it had.
const (
	Undecided Verdict = iota
	Pass
	Fail
)

// String is the verdict in one word.
func (v Verdict) String() string {
	return [...]string{"undecided", "pass", "fail"}[v]
}

// SPRT is Wald's sequential test between two shares right: each answer adds to
// a score until it passes a limit.
//
//	right: ln(p₁/p₀)   wrong: ln((1−p₁)/(1−p₀))
//	pass at ln((1−β)/α) or more, fail at ln(β/(1−α)) or less
//
// The limits hold to within the overshoot of the last answer, which makes the
// true errors a little smaller than Alpha and Beta. A Cap makes them larger;
// Operating tells by how much.
//
// Source: A. Wald, Sequential tests of statistical hypotheses, Annals of
// Mathematical Statistics 16 (1945).
type SPRT struct {
	P0, P1      float64 // shares right of who should fail and of who should pass
	Alpha, Beta float64 // chance to pass at P0, to fail at P1
	Cap         int     // most trials; 0: none
	CapDecides  bool    // at the cap: pass where the score is above 0, else fail; otherwise undecided
}

// ReferenceTest is the test of one skill at a fixed reference trial of two
// choices: the errors stay below 0.06 and 0.05 within 60 trials. With shares
// closer than 0.2 apart a cap of 60 would double them.
var ReferenceTest = SPRT{P0: .65, P1: .85, Alpha: .05, Beta: .05, Cap: 60, CapDecides: true}

// Validate reports what makes a test impossible.
func (s SPRT) Validate() error {
	if !(0 < s.P0 && s.P0 < s.P1 && s.P1 < 1) {
		return fmt.Errorf("a sequential test needs shares 0 < p₀ < p₁ < 1, not %g and %g", s.P0, s.P1)
	}
	if !(s.Alpha > 0 && s.Beta > 0 && s.Alpha+s.Beta < 1) || s.Cap < 0 {
		return fmt.Errorf("a sequential test needs errors that add up to less than 1, not %g and %g, and a cap of 0 or more, not %d", s.Alpha, s.Beta, s.Cap)
	}
	return nil
}

// Steps are what a right and a wrong answer add to the score.
func (s SPRT) Steps() (right, wrong float64) {
	return math.Log(s.P1 / s.P0), math.Log((1 - s.P1) / (1 - s.P0))
}

// Limits are the scores at which it ends.
func (s SPRT) Limits() (pass, fail float64) {
	return math.Log((1 - s.Beta) / s.Alpha), math.Log(s.Beta / (1 - s.Alpha))
}

// Decide is the verdict after right of n answers, which no earlier answer has
// decided, and whether the test is over.
func (s SPRT) Decide(right, n int) (v Verdict, over bool) {
	up, down := s.Steps()
	pass, fail := s.Limits()
	score := float64(right)*up + float64(n-right)*down
	switch {
	case score >= pass:
		return Pass, true
	case score <= fail:
		return Fail, true
	case s.Cap == 0 || n < s.Cap:
		return Undecided, false
	case !s.CapDecides:
		return Undecided, true
	case score > 0:
		return Pass, true
	}
	return Fail, true
}

// Sequential is one run of a test.
type Sequential struct {
	Test     SPRT
	right, n int
	verdict  Verdict
	over     bool
}

// Update is told of an answer; after the end it changes nothing.
func (q *Sequential) Update(right bool) {
	if q.over {
		return
	}
	q.n++
	if right {
		q.right++
	}
	q.verdict, q.over = q.Test.Decide(q.right, q.n)
}

// Verdict so far, and whether it is final.
func (q *Sequential) Verdict() (v Verdict, over bool) { return q.verdict, q.over }

// Count is how many answers were right, of how many.
func (q *Sequential) Count() (right, n int) { return q.right, q.n }

// Operating is how a test behaves for a listener with a fixed share right.
type Operating struct {
	Pass, Fail, Undecided float64 // chances
	MeanTrials            float64
}

// longest is where an uncapped test is taken for over: the chance that one of
// the tests here lasts longer is far below 1e-9.
const longest = 4000

// Operating is exact, by dynamic programming over the number right after each
// trial. It panics where Validate has an error.
func (s SPRT) Operating(share float64) Operating {
	if err := s.Validate(); err != nil {
		panic("skill: " + err.Error())
	}
	most := s.Cap
	if most == 0 {
		most = longest
	}
	var out Operating
	open := make([]float64, most+2) // chance to be undecided with k right
	open[0] = 1
	for n := 1; n <= most; n++ {
		left := 0.0
		for k := n; k >= 0; k-- {
			mass := open[k] * (1 - share)
			if k > 0 {
				mass += open[k-1] * share
			}
			open[k] = 0
			if mass == 0 {
				continue
			}
			switch v, over := s.Decide(k, n); {
			case v == Pass:
				out.Pass += mass
			case v == Fail:
				out.Fail += mass
			case over:
				out.Undecided += mass
			default:
				open[k] = mass
				left += mass
				continue
			}
			out.MeanTrials += mass * float64(n)
		}
		if left < 1e-13 {
			break
		}
	}
	return out
}
