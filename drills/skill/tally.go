package skill

import "math/rand/v2"

// Kind is what a trial of a self-test is there for.
type Kind struct {
	Catch bool // so easy that a miss is a lapse; not part of the test
	Roved bool // one choice, whichever, is made louder, so that level is no clue
}

// Limits of a valid form. All are choices of ours; that a listener who misses
// hidden easy trials does not count is common in listening-test standards.
const (
	FormCatchShare = 1. / 6 // of the trials
	FormRovedShare = 1. / 2 // of the trials
	leastCatches   = 8      // a form is not over before
	leastRoved     = 12     // a form is not over before
	catchesRight   = 0.85   // fewer, and the form does not count
	cueAlpha       = 0.001  // chance to take an honest listener for one who answers by level
)

// NextKind draws what the next trial of a form is.
func NextKind(r *rand.Rand) Kind {
	return Kind{Catch: r.Float64() < FormCatchShare, Roved: r.Float64() < FormRovedShare}
}

// Tally is one form of a self-test of one skill: a sequential test on the
// trials at the reference, and what tells whether the answers count.
type Tally struct {
	Test                Sequential
	Catches, CatchRight int
	Roved, Followed     int // trials with a louder choice, and answers that took it
}

// Update is told of an answer.
func (t *Tally) Update(k Kind, right, tookLouder bool) {
	if k.Roved {
		t.Roved++
		t.Followed += int(indicator(tookLouder))
	}
	if k.Catch {
		t.Catches++
		t.CatchRight += int(indicator(right))
		return
	}
	t.Test.Update(right)
}

// Over reports whether the test is decided and there is enough to say whether
// it counts.
func (t *Tally) Over() bool {
	_, over := t.Test.Verdict()
	return over && t.Catches >= leastCatches && t.Roved >= leastRoved
}

// ByLevel reports whether the answers follow the louder choice more than
// chance allows.
func (t *Tally) ByLevel() bool { return Tail(t.Followed, t.Roved, .5) <= cueAlpha }

// Counts reports whether the form is valid: over, easy trials right, answers
// not by level.
func (t *Tally) Counts() bool {
	return t.Over() && float64(t.CatchRight) >= catchesRight*float64(t.Catches) && !t.ByLevel()
}

// Readiness is what a self-test says of one skill.
type Readiness int

// A skill that is not shown may be there all the same.
const (
	NotShown Readiness = iota
	Ready
	NotReady
)

// String is the readiness in words.
func (r Readiness) String() string {
	return [...]string{"not shown", "ready", "not ready"}[r]
}

// Judge takes the forms of one skill, which must be parallel and, to show that
// the skill stays, at least a week apart: ready where two or more forms all
// pass, not ready where the last valid one fails, else not shown.
func Judge(forms ...*Tally) Readiness {
	passed, last := 0, Undecided
	for _, f := range forms {
		if !f.Counts() {
			continue
		}
		last, _ = f.Test.Verdict()
		passed += int(indicator(last == Pass))
	}
	switch {
	case len(forms) >= 2 && passed == len(forms):
		return Ready
	case last == Fail:
		return NotReady
	}
	return NotShown
}
