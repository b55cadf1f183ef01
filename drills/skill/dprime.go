package skill

import "math"

// Counts are the answers to a question with yes and no: is it changed?
type Counts struct {
	Hits              int `json:"hits"`              // changed, said so
	Misses            int `json:"misses"`            // changed, not said
	FalseAlarms       int `json:"falseAlarms"`       // not changed, said so
	CorrectRejections int `json:"correctRejections"` // not changed, not said
}

// Rates are shares of yes: where there is a change and where there is none.
type Rates struct {
	Hit, FalseAlarm float64
}

// Raw rates are NaN where one kind of trial was never asked.
func (c Counts) Raw() Rates {
	return Rates{ratio(c.Hits, c.Misses, 0), ratio(c.FalseAlarms, c.CorrectRejections, 0)}
}

// LogLinear rates have half an answer added to each cell, always, so that d′
// is never infinite and grows with every hit.
//
// Source: M. J. Hautus, Corrections for extreme proportions and their biasing
// effects on estimated values of d′, Behavior Research Methods 27 (1995),
// from memory.
func (c Counts) LogLinear() Rates {
	return Rates{ratio(c.Hits, c.Misses, 0.5), ratio(c.FalseAlarms, c.CorrectRejections, 0.5)}
}

func ratio(yes, no int, add float64) float64 {
	return (float64(yes) + add) / (float64(yes+no) + 2*add)
}

// DPrime of yes/no: z(H) − z(F).
func (r Rates) DPrime() float64 { return probit(r.Hit) - probit(r.FalseAlarm) }

// Criterion is the leaning to no, 0 for none: −½·(z(H) + z(F)).
func (r Rates) Criterion() float64 { return -(probit(r.Hit) + probit(r.FalseAlarm)) / 2 }

// LikelihoodRatio at the criterion, β: exp(c·d′).
func (r Rates) LikelihoodRatio() float64 { return math.Exp(r.Criterion() * r.DPrime()) }

// Unbiased is the share right that the same sensitivity would get without a
// leaning: Φ(½·(z(H) − z(F))). Task.DPrime takes it for 2AFC, ABX and
// same–different with independent observations.
func (r Rates) Unbiased() float64 { return phi(r.DPrime() / 2) }

// SameDifferentDPrime is d′ of same–different by differences, whatever the
// criterion: it solves
//
//	H = Φ((k+d′)/√2) + Φ((k−d′)/√2), k = √2·z(F/2)
//
// and is 0 where hits are no more than false alarms.
func (r Rates) SameDifferentDPrime() float64 {
	if r.Hit <= r.FalseAlarm {
		return 0
	}
	k := math.Sqrt2 * probit(r.FalseAlarm/2)
	differing := Task{"", r.FalseAlarm, func(d float64) float64 { return phi((k+d)/math.Sqrt2) + phi((k-d)/math.Sqrt2) }}
	return differing.DPrime(r.Hit)
}
