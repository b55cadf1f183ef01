package skill

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Reliability is how well repeated measurements of several targets (skills or
// people) agree: intraclass correlations of a single measurement and of the
// mean of all.
//
// Source: P. E. Shrout & J. L. Fleiss, Intraclass correlations: uses in
// assessing rater reliability, Psychological Bulletin 86 (1979).
type Reliability struct {
	OneWay      float64 // ICC(1,1): occasions differ from target to target
	Agreement   float64 // ICC(2,1): occasions are a sample, their level counts
	Consistency float64 // ICC(3,1): occasions are fixed, their level does not count

	OneWayMean      float64 // ICC(1,k)
	AgreementMean   float64 // ICC(2,k)
	ConsistencyMean float64 // ICC(3,k)

	AgreementInterval Interval // of ICC(2,1), with the confidence asked for

	BetweenSquare, WithinSquare  float64 // mean squares of targets, and in them
	OccasionSquare, ErrorSquare  float64 // mean squares of occasions, and what is left
	StandardError, LeastDetected float64 // of a single measurement: √WithinSquare, and MinimalDetectable of it
}

// ReliabilityOf takes a row for each target with a value for each occasion.
// It refuses fewer than two of either, and rows that differ in length.
func ReliabilityOf(rows [][]float64, confidence float64) (Reliability, error) {
	if len(rows) < 2 || len(rows[0]) < 2 {
		return Reliability{}, errors.New("reliability needs at least two targets, each measured at least twice")
	}
	for _, row := range rows {
		if len(row) != len(rows[0]) {
			return Reliability{}, errors.New("reliability needs every target measured equally often")
		}
	}
	r := meanSquares(rows)
	n, k := float64(len(rows)), float64(len(rows[0]))
	b, w, c, e := r.BetweenSquare, r.WithinSquare, r.OccasionSquare, r.ErrorSquare
	r.OneWay = (b - w) / (b + (k-1)*w)
	r.Agreement = (b - e) / (b + (k-1)*e + k*(c-e)/n)
	r.Consistency = (b - e) / (b + (k-1)*e)
	r.OneWayMean = (b - w) / b
	r.AgreementMean = (b - e) / (b + (c-e)/n)
	r.ConsistencyMean = (b - e) / b
	r.AgreementInterval = r.agreementInterval(n, k, confidence)
	r.StandardError = math.Sqrt(w)
	r.LeastDetected = MinimalDetectable(r.StandardError)
	return r, nil
}

// meanSquares is the two-way analysis of variance.
func meanSquares(rows [][]float64) (r Reliability) {
	n, k := float64(len(rows)), float64(len(rows[0]))
	grand := 0.0
	targets, occasions := make([]float64, len(rows)), make([]float64, len(rows[0]))
	for i, row := range rows {
		for j, v := range row {
			targets[i] += v / k
			occasions[j] += v / n
			grand += v / (n * k)
		}
	}
	for i, row := range rows {
		r.BetweenSquare += k * (targets[i] - grand) * (targets[i] - grand) / (n - 1)
		for j, v := range row {
			within, left := v-targets[i], v-targets[i]-occasions[j]+grand
			r.WithinSquare += within * within / (n * (k - 1))
			r.ErrorSquare += left * left / ((n - 1) * (k - 1))
		}
	}
	for _, mean := range occasions {
		r.OccasionSquare += n * (mean - grand) * (mean - grand) / (k - 1)
	}
	return r
}

// agreementInterval of ICC(2,1) by Satterthwaite's degrees of freedom, Shrout
// & Fleiss 1979. Without any error at all it is the estimate itself.
func (r Reliability) agreementInterval(n, k, confidence float64) Interval {
	b, c, e, icc := r.BetweenSquare, r.OccasionSquare, r.ErrorSquare, r.Agreement
	if e == 0 {
		return Interval{icc, icc}
	}
	f := c / e
	top := k*icc*f + n*(1+(k-1)*icc) - k*icc
	bottom := (n-1)*k*k*icc*icc*f*f + math.Pow(n*(1+(k-1)*icc)-k*icc, 2)
	v := (k - 1) * (n - 1) * top * top / bottom
	point := (1 + confidence) / 2
	up := distuv.F{D1: n - 1, D2: v}.Quantile(point)
	down := distuv.F{D1: v, D2: n - 1}.Quantile(point)
	shared := k*c + (k*n-k-n)*e
	return Interval{n * (b - up*e) / (up*shared + n*b), n * (down*b - e) / (shared + n*down*b)}
}

// MinimalDetectable is the least difference between two measurements that is
// no mere error, at 95 %: 1.96·√2 times the standard error of one.
func MinimalDetectable(standardError float64) float64 {
	return probit(.975) * math.Sqrt2 * standardError
}

// Lengthening is how many times as long a test must be to bring its
// reliability from one value to another: r₂(1−r₁)/(r₁(1−r₂)).
//
// Source: C. Spearman, and W. Brown, British Journal of Psychology 3 (1910).
func Lengthening(from, to float64) float64 { return to * (1 - from) / (from * (1 - to)) }
