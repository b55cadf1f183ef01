package skill

import "math"

// Change is what may be said of two measurements of a threshold.
type Change int

// NoRealChange is an answer: the difference is no greater than chance makes.
const (
	NoRealChange Change = iota
	Better
	Worse
)

// String is the change in words.
func (c Change) String() string {
	return [...]string{"no real change yet", "better", "worse"}[c]
}

// ChangeOf compares a later measurement of a threshold with the first, when
// as many comparisons will have been made in all: the chance that any of them
// calls a constant listener better, or worse, is at most 5 %.
//
//	|difference| > z·√(SD₁² + SD₂²),  z the normal quantile of 1 − 0.05/(2·comparisons)
//
// One comparison of two equal errors gives MinimalDetectable. Source of the
// division: C. E. Bonferroni (1936).
func ChangeOf(first, later Marginal, comparisons int) Change {
	least := LeastChange(first, later, comparisons)
	switch fell := first.Mean() - later.Mean(); {
	case fell > least:
		return Better
	case fell < -least:
		return Worse
	}
	return NoRealChange
}

// LeastChange is the least difference of the two, either way, that ChangeOf
// calls one.
func LeastChange(first, later Marginal, comparisons int) float64 {
	return probit(1-.05/(2*float64(max(comparisons, 1)))) * math.Hypot(first.SD(), later.SD())
}
