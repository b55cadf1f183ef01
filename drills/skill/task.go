package skill

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Task is one way to ask whether a difference is heard, and what share an
// unbiased listener gets right at a sensitivity d′. Shares of different tasks
// cannot be compared; d′ can.
//
// The listener is the equal-variance Gaussian one. Source of the formulas:
// N. A. Macmillan & C. D. Creelman, Detection Theory, 2nd ed. (2005), where
// a function names no other.
type Task struct {
	Name   string
	Chance float64 // share right at d′ 0

	correct func(dPrime float64) float64
}

// Correct is the share right at a sensitivity from 0 up.
func (t Task) Correct(dPrime float64) float64 { return t.correct(dPrime) }

// mostDPrime is where every task has reached 1 in floating point.
const mostDPrime = 40

// DPrime is the sensitivity that gets a share right: 0 at chance or below,
// +Inf at 1, NaN outside 0 to 1.
func (t Task) DPrime(share float64) float64 {
	switch {
	case !(share >= 0 && share <= 1):
		return math.NaN()
	case share <= t.Chance:
		return 0
	case share == 1:
		return math.Inf(1)
	}
	lo, hi := 0.0, float64(mostDPrime)
	for range 60 {
		if mid := (lo + hi) / 2; t.correct(mid) < share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

var (
	// YesNo asks of one sound whether it is changed: Φ(d′/2).
	YesNo = Task{"yes/no", 1. / 2, func(d float64) float64 { return phi(d / 2) }}

	// ABXIndependent asks which of two X is, from three independent
	// observations: Φ(d′/√2)·Φ(d′/2) + Φ(−d′/√2)·Φ(−d′/2).
	ABXIndependent = Task{"ABX, independent", 1. / 2, func(d float64) float64 { return bothOrNeither(d/math.Sqrt2, d/2) }}

	// ABXDifferencing asks which of two X is, by the smaller difference:
	// Φ(d′/√2)·Φ(d′/√6) + Φ(−d′/√2)·Φ(−d′/√6).
	ABXDifferencing = Task{"ABX, differencing", 1. / 2, func(d float64) float64 { return bothOrNeither(d/math.Sqrt2, d/math.Sqrt(6)) }}

	// SameDifferentIndependent asks whether two are the same, from two
	// independent observations: Φ(d′/2)² + Φ(−d′/2)².
	SameDifferentIndependent = Task{"same–different, independent", 1. / 2, func(d float64) float64 { return bothOrNeither(d/2, d/2) }}

	// SameDifferentDifferencing asks whether two are the same, by their
	// difference against the criterion that gets most right.
	SameDifferentDifferencing = Task{"same–different, differencing", 1. / 2, sameDifferentDifferencing}

	// OddityDifferencing asks which of three is the odd one, by the
	// differences (triangle):
	//
	//	2·∫₀^∞ [Φ(−x√3 + d′√⅔) + Φ(−x√3 − d′√⅔)]·φ(x) dx
	//
	// Source: J. E. R. Frijters, A. Kooistra & P. F. G. Vereijken, Tables of
	// d′ for the triangular method, Perception & Psychophysics 27 (1980).
	OddityDifferencing = Task{"odd one out, differencing", 1. / 3, oddityDifferencing}

	// OddityIndependent asks which of three is the odd one, by the rule that
	// gets most right: the greatest |2xᵢ − Σx| about the middle of the two
	// means. Source of the rule: N. J. Versfeld, H. Dai & D. M. Green, The
	// optimum decision rules for the oddity task, Perception & Psychophysics
	// 58 (1996); the single integral is our own reduction of it.
	OddityIndependent = Task{"odd one out, independent", 1. / 3, oddityIndependent}
)

// TwoAFC asks which of two is changed: Φ(d′/√2).
var TwoAFC = Task{"2AFC", 1. / 2, func(d float64) float64 { return phi(d / math.Sqrt2) }}

// MAFC asks which of m is changed: ∫ φ(x−d′)·Φ(x)^(m−1) dx. It panics where m
// is under 2.
//
// Source: D. M. Green & H. Dai, Probability of being correct with 1 of M
// orthogonal signals, Perception & Psychophysics 49 (1991).
func MAFC(m int) Task {
	if m < 2 {
		panic(fmt.Sprintf("skill: no choice among %d", m))
	}
	if m == 2 {
		return TwoAFC
	}
	return Task{fmt.Sprintf("%dAFC", m), 1 / float64(m), func(d float64) float64 {
		return integral(d-9, d+9, func(x float64) float64 { return density(x-d) * math.Pow(phi(x), float64(m-1)) })
	}}
}

// Tasks are all the tasks here, with m-AFC for 3 to 10 choices.
func Tasks() []Task {
	tasks := []Task{YesNo, TwoAFC, ABXIndependent, ABXDifferencing, SameDifferentIndependent,
		SameDifferentDifferencing, OddityDifferencing, OddityIndependent}
	for m := 3; m <= 10; m++ {
		tasks = append(tasks, MAFC(m))
	}
	return tasks
}

// bothOrNeither is the chance that two independent decisions are both right
// or both wrong.
func bothOrNeither(a, b float64) float64 { return phi(a)*phi(b) + phi(-a)*phi(-b) }

// sameDifferentDifferencing is ½·(hits + 1 − false alarms) at the criterion
// where both are as likely: cosh(k·d′/2) = exp(d′²/4).
func sameDifferentDifferencing(d float64) float64 {
	if d == 0 {
		return 0.5
	}
	k := 2 / d * (d*d/4 + math.Log1p(math.Sqrt(-math.Expm1(-d*d/2)))) // acosh without overflow
	hits := phi((d-k)/math.Sqrt2) + phi((-d-k)/math.Sqrt2)
	return (hits + 1 - 2*phi(-k/math.Sqrt2)) / 2
}

func oddityDifferencing(d float64) float64 {
	far := d * math.Sqrt(2./3)
	return 2 * integral(0, 9, func(x float64) float64 {
		return (phi(far-x*math.Sqrt(3)) + phi(-far-x*math.Sqrt(3))) * density(x)
	})
}

// oddityIndependent: |2x₁−Σ| beats |2x₂−Σ| where (x₁−x₂)·x₃ < 0, and the
// third likewise; so the other two lie both below min(0, x₁) or both above
// max(0, x₁).
func oddityIndependent(d float64) float64 {
	below := func(x float64) float64 { p := phi(min(0, x) + d/2); return p * p }
	above := func(x float64) float64 { p := phi(-max(0, x) - d/2); return p * p }
	whole := func(x float64) float64 { return density(x-d/2) * (below(x) + above(x)) }
	lo, hi := min(0, d/2-9), max(0, d/2+9)
	return integral(lo, 0, whole) + integral(0, hi, whole)
}

// integral by Gauss–Legendre with a fixed number of points: far below 1e-9
// for smooth functions some standard deviations wide.
func integral(lo, hi float64, f func(float64) float64) float64 {
	if lo == hi {
		return 0
	}
	return quad.Fixed(f, lo, hi, 80, quad.Legendre{}, 1)
}

func phi(z float64) float64     { return math.Erfc(-z/math.Sqrt2) / 2 }
func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
func probit(p float64) float64  { return distuv.UnitNormal.Quantile(p) }
