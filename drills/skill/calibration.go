package skill

import "math"

// Prediction is the share right predicted for a trial, and how it went.
type Prediction struct {
	Share float64
	Right bool
}

// CalibrationBin compares what was predicted with what happened, for the
// trials with a prediction in one tenth of 0 to 1.
type CalibrationBin struct {
	Trials    int      `json:"trials"`
	Predicted float64  `json:"predicted"` // mean
	Observed  float64  `json:"observed"`  // share right
	Interval  Interval `json:"interval"`  // of Observed, 95 %, Wilson
}

// Gap is observed less predicted.
func (b CalibrationBin) Gap() float64 { return b.Observed - b.Predicted }

// Calibrate sorts predictions into tenths of 0 to 1, lowest first, leaving out
// the empty ones.
func Calibrate(predictions []Prediction) []CalibrationBin {
	var sums [10]float64
	var trials, right [10]int
	for _, p := range predictions {
		i := min(max(int(10*p.Share), 0), 9)
		sums[i] += p.Share
		trials[i]++
		if p.Right {
			right[i]++
		}
	}
	var bins []CalibrationBin
	for i, n := range trials {
		if n > 0 {
			bins = append(bins, CalibrationBin{n, sums[i] / float64(n), float64(right[i]) / float64(n), Wilson(right[i], n, .95)})
		}
	}
	return bins
}

// Brier is the mean square of prediction less outcome, 0 best; NaN for none.
//
// Source: G. W. Brier, Verification of forecasts expressed in terms of
// probability, Monthly Weather Review 78 (1950).
func Brier(predictions []Prediction) float64 {
	sum := 0.0
	for _, p := range predictions {
		outcome := 0.0
		if p.Right {
			outcome = 1
		}
		sum += (p.Share - outcome) * (p.Share - outcome)
	}
	if len(predictions) == 0 {
		return math.NaN()
	}
	return sum / float64(len(predictions))
}
