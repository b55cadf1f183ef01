package skill

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Mean is a mean and the interval that holds the true one.
type Mean struct {
	Mean     float64  `json:"mean"`
	Interval Interval `json:"interval"`
}

// MeanOf is the mean of x with Student's interval. x needs two values at
// least; with fewer the interval is everything, and the mean of none is NaN.
//
//	mean ± t(n−1)·s/√n
//
// Source: Student, The probable error of a mean, Biometrika 6 (1908).
func MeanOf(x []float64, confidence float64) Mean {
	if len(x) < 2 {
		return Mean{stat.Mean(x, nil), Interval{math.Inf(-1), math.Inf(1)}}
	}
	mean, deviation := stat.MeanStdDev(x, nil)
	t := distuv.StudentsT{Sigma: 1, Nu: float64(len(x) - 1)}.Quantile((1 + confidence) / 2)
	half := t * deviation / math.Sqrt(float64(len(x)))
	return Mean{mean, Interval{mean - half, mean + half}}
}

// Median is the middle value of x, which it does not alter, or the mean of
// the middle two. The median of none is NaN.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(x))
	middle := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[middle]
	}
	return (sorted[middle-1] + sorted[middle]) / 2
}
