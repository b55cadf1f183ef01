package skill

import (
	"fmt"
	"math"
)

// PointingBits is the information that answers with a spread transmit on a
// scale of a width, in bits: log₂(width/(spread·√(2πe))), at least 0. Two to
// the power of it is how many values are told apart without error.
//
// For comparison: tones of 100 to 8000 Hz, named alone, transmit some 2.3
// bits, five tones. Source: I. Pollack, The information of elementary auditory
// displays, JASA 24 (1952), abstract.
func PointingBits(width, spread float64) float64 {
	return max(0, math.Log2(width/(spread*math.Sqrt(2*math.Pi*math.E))))
}

// Confusions counts answers: a row for each truth, a column for each answer.
type Confusions [][]int

// NewConfusions are those of m choices, none answered.
func NewConfusions(m int) Confusions {
	c := make(Confusions, m)
	for i := range c {
		c[i] = make([]int, m)
	}
	return c
}

// Bits is the information transmitted as counted:
//
//	Σ p(t,a)·log₂(p(t,a)/(p(t)·p(a)))
//
// Few answers make it too large; UnbiasedBits allows for that. It is 0 where
// nothing was answered, and panics where the rows differ in length.
func (c Confusions) Bits() float64 {
	truths, answers, n := c.totals()
	bits := 0.0
	for t, row := range c {
		for a, count := range row {
			if count > 0 {
				bits += float64(count) / float64(n) * math.Log2(float64(count)*float64(n)/(float64(truths[t])*float64(answers[a])))
			}
		}
	}
	return bits
}

// UnbiasedBits is Bits less its bias to first order, at least 0:
//
//	(rows−1)·(columns−1)/(2·n·ln 2)
//
// over the rows and columns that occur. Source: G. A. Miller, Note on the bias
// of information estimates, Information Theory in Psychology (1955), from
// memory.
func (c Confusions) UnbiasedBits() float64 {
	truths, answers, n := c.totals()
	if n == 0 {
		return 0
	}
	cells := float64((occurring(truths) - 1) * (occurring(answers) - 1))
	return max(0, c.Bits()-cells/(2*float64(n)*math.Ln2))
}

func (c Confusions) totals() (truths, answers []int, n int) {
	truths = make([]int, len(c))
	for t, row := range c {
		if answers == nil {
			answers = make([]int, len(row))
		}
		if len(row) != len(answers) {
			panic(fmt.Sprintf("skill: a row of %d answers among rows of %d", len(row), len(answers)))
		}
		for a, count := range row {
			truths[t] += count
			answers[a] += count
			n += count
		}
	}
	return truths, answers, n
}

func occurring(counts []int) (n int) {
	for _, count := range counts {
		if count > 0 {
			n++
		}
	}
	return n
}
