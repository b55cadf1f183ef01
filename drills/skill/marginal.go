package skill

import "math"

// Marginal is a distribution over the values of one axis, ascending.
type Marginal struct {
	Values, Mass []float64
}

// Mean is its mean.
func (m Marginal) Mean() float64 { return dot(m.Mass, m.Values) }

// SD is its standard deviation.
func (m Marginal) SD() float64 {
	mean, sum := m.Mean(), 0.0
	for i, v := range m.Values {
		sum += m.Mass[i] * (v - mean) * (v - mean)
	}
	return math.Sqrt(sum)
}

// Quantile is the value below which a share of the mass lies. The mass of a
// value is taken as spread evenly over its cell, which reaches half way to
// its neighbours.
func (m Marginal) Quantile(share float64) float64 {
	below := 0.0
	for i, mass := range m.Mass {
		if below+mass >= share || i == len(m.Mass)-1 {
			lo, hi := m.cell(i)
			if mass == 0 {
				return lo
			}
			return lo + (hi-lo)*min((share-below)/mass, 1)
		}
		below += mass
	}
	return math.NaN()
}

// Interval holds the value with a confidence, as much mass left out on each
// side.
func (m Marginal) Interval(confidence float64) Interval {
	return Interval{m.Quantile((1 - confidence) / 2), m.Quantile((1 + confidence) / 2)}
}

// Below is the chance that the value is at most v.
func (m Marginal) Below(v float64) float64 {
	sum := 0.0
	for i, mass := range m.Mass {
		lo, hi := m.cell(i)
		switch {
		case v >= hi:
			sum += mass
		case v > lo:
			sum += mass * (v - lo) / (hi - lo)
		}
	}
	return sum
}

// cell of a value: half way to its neighbours, at the ends as far out as in.
func (m Marginal) cell(i int) (lo, hi float64) {
	v, last := m.Values[i], len(m.Values)-1
	if last == 0 {
		return v, v
	}
	before, after := 0.0, 0.0
	if i > 0 {
		before = (v - m.Values[i-1]) / 2
	}
	if i < last {
		after = (m.Values[i+1] - v) / 2
	}
	if i == 0 {
		before = after
	}
	if i == last {
		after = before
	}
	return v - before, v + after
}
