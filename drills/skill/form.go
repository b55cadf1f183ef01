package skill

import "math"

// Form is a psychometric function: the chance of a right answer at a level.
// Threshold, slope and lapse mean what the form says.
type Form func(level, threshold, slope, lapse float64) float64

// WeibullDB is the Weibull function of a level in dB, for m choices with
// chance 1/m. The threshold is where it has covered 1−1/e of its way, the
// slope from about 1 (shallow) to 5, the lapse the share missed at any level.
//
//	1 − λ − (1−γ−λ)·exp(−10^(β·(x−t)/20))
//
// Source: A. B. Watson, QUEST+: A general multidimensional Bayesian adaptive
// psychometric method, Journal of Vision 17(3):10 (2017).
func WeibullDB(chance float64) Form {
	return func(level, threshold, slope, lapse float64) float64 {
		return 1 - lapse - (1-chance-lapse)*math.Exp(-math.Pow(10, slope*(level-threshold)/20))
	}
}

// NormalCDF is the cumulative normal, for m choices with chance 1/m: the
// threshold is its middle, the slope here its standard deviation, in the
// level's unit.
//
//	γ + (1−γ−λ)·Φ((x−μ)/σ)
func NormalCDF(chance float64) Form {
	return func(level, threshold, slope, lapse float64) float64 {
		return chance + (1-chance-lapse)*phi((level-threshold)/slope)
	}
}

// PointOfEquality is the cumulative normal between two answers, neither of
// which is wrong: the threshold is where both are as likely, the slope the
// standard deviation, and lapses go both ways.
//
//	λ + (1−2λ)·Φ((x−μ)/σ)
//
// Source: Watson 2017, example 3.
func PointOfEquality(level, threshold, slope, lapse float64) float64 {
	return lapse + (1-2*lapse)*phi((level-threshold)/slope)
}
