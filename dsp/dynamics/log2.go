package dynamics

import "math"

// Inside this package a level is the binary logarithm of an amplitude ratio:
// a doubling is 1, and 20·log10(2) dB.
var doublingDB = 20 * math.Log10(2)

const (
	logSteps = 128 // stretches of a doubling, each with its own parabola
	expSteps = 64
)

type logStep struct{ inverse, log2 float64 }

var (
	logTable = newLogTable()
	expTable = newExpTable()
)

func newLogTable() (table [logSteps]logStep) {
	for i := range table {
		middle := 1 + (float64(i)+0.5)/logSteps
		table[i] = logStep{1 / middle, math.Log2(middle)}
	}
	return table
}

func newExpTable() (table [expSteps]uint64) {
	for i := range table {
		table[i] = math.Float64bits(math.Exp2(float64(i) / expSteps))
	}
	return table
}

// log2 is the binary logarithm of a positive normal number, within 1e-10.
//
// The mantissa is divided by the middle of its stretch; three terms of the
// series of log2(1+r), |r| ≤ 1/256, do the rest.
func log2(x float64) float64 {
	bits := math.Float64bits(x)
	step := &logTable[bits>>45&(logSteps-1)]
	r := math.Float64frombits(bits&(1<<52-1)|1023<<52)*step.inverse - 1
	return float64(int64(bits>>52)-1023) + step.log2 +
		r*(math.Log2E-r*(math.Log2E/2-r*(math.Log2E/3)))
}

// exp2 is 2^x within 1e-10 of its value, for −1000 ≤ x ≤ 1000; exp2(0) is 1.
//
// x is rounded to a 64th by adding a number so large that nothing finer fits
// beside it; three terms of the series of 2^r, |r| ≤ 1/128, do the rest.
func exp2(x float64) float64 {
	const large = 3 << 45 // its last place is 1/64
	sum := x + large
	steps := math.Float64bits(sum) - (1023+46)<<52 - 1<<51
	r := x - (sum - large)
	return math.Float64frombits(expTable[steps%expSteps]+steps/expSteps<<52) *
		(1 + r*(math.Ln2+r*(math.Ln2*math.Ln2/2+r*(math.Ln2*math.Ln2*math.Ln2/6))))
}
