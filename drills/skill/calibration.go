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

// Calibration collects predictions and how they went, in tenths of 0 to 1. Its
// fields are there to be kept with other derived state.
type Calibration struct {
	Trials, Right [10]int
	Sums          [10]float64 // of the shares predicted
	SquaredMisses float64     // of share less outcome, over all
}

// Add takes one more.
func (c *Calibration) Add(p Prediction) {
	i := min(max(int(10*p.Share), 0), 9)
	c.Trials[i]++
	c.Right[i] += int(indicator(p.Right))
	c.Sums[i] += p.Share
	c.SquaredMisses += (p.Share - indicator(p.Right)) * (p.Share - indicator(p.Right))
}

// Of is how many it has taken.
func (c Calibration) Of() (n int) {
	for _, trials := range c.Trials {
		n += trials
	}
	return n
}

// Bins are the tenths, lowest first, without the empty ones.
func (c Calibration) Bins() (bins []CalibrationBin) {
	for i, n := range c.Trials {
		if n > 0 {
			bins = append(bins, CalibrationBin{n, c.Sums[i] / float64(n), float64(c.Right[i]) / float64(n), Wilson(c.Right[i], n, .95)})
		}
	}
	return bins
}

// Brier is the mean square of prediction less outcome, 0 best; NaN for none.
//
// Source: G. W. Brier, Verification of forecasts expressed in terms of
// probability, Monthly Weather Review 78 (1950).
func (c Calibration) Brier() float64 {
	if c.Of() == 0 {
		return math.NaN()
	}
	return c.SquaredMisses / float64(c.Of())
}

// Plus is both together.
func (c Calibration) Plus(d Calibration) Calibration {
	for i := range c.Trials {
		c.Trials[i] += d.Trials[i]
		c.Right[i] += d.Right[i]
		c.Sums[i] += d.Sums[i]
	}
	c.SquaredMisses += d.SquaredMisses
	return c
}

// Calibrate sorts predictions into tenths of 0 to 1.
func Calibrate(predictions []Prediction) []CalibrationBin { return collected(predictions).Bins() }

// Brier is that of a Calibration.
func Brier(predictions []Prediction) float64 { return collected(predictions).Brier() }

func collected(predictions []Prediction) (c Calibration) {
	for _, p := range predictions {
		c.Add(p)
	}
	return c
}
