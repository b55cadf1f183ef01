package skill

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a range that holds the true value with a stated confidence.
type Interval struct {
	Lo float64 `json:"lo"`
	Hi float64 `json:"hi"`
}

// Contains reports whether v lies in the interval, its ends included.
func (i Interval) Contains(v float64) bool { return i.Lo <= v && v <= i.Hi }

// Wilson is the score interval of a share, count out of n, for showing: its
// mean coverage is the confidence asked for. n 0 gives 0 to 1.
//
//	(p + z²/2n ± z·√(p(1−p)/n + z²/4n²)) / (1 + z²/n)
//
// Source: E. B. Wilson, Probable inference, the law of succession, and
// statistical inference, JASA 22 (1927).
func Wilson(count, n int, confidence float64) Interval {
	if n == 0 {
		return Interval{0, 1}
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	share, trials := float64(count)/float64(n), float64(n)
	mid := share + z*z/(2*trials)
	half := z * math.Sqrt(share*(1-share)/trials+z*z/(4*trials*trials))
	scale := 1 + z*z/trials
	return openEnds(count, n, Interval{(mid - half) / scale, (mid + half) / scale})
}

// ClopperPearson is the exact interval of a share, count out of n, for a
// promise: it covers at least as often as asked for. n 0 gives 0 to 1.
//
//	lower: quantile α/2 of Beta(k, n−k+1); upper: 1−α/2 of Beta(k+1, n−k)
//
// Source: C. J. Clopper & E. S. Pearson, The use of confidence or fiducial
// limits illustrated in the case of the binomial, Biometrika 26 (1934).
func ClopperPearson(count, n int, confidence float64) Interval {
	k, rest, tail := float64(count), float64(n-count), (1-confidence)/2
	return openEnds(count, n, Interval{betaQuantile(tail, k, rest+1), betaQuantile(1-tail, k+1, rest)})
}

// Jeffreys is the interval of a share, count out of n, from the prior
// Beta(½, ½). n 0 gives 0 to 1.
//
// Source: L. D. Brown, T. T. Cai & A. DasGupta, Interval estimation for a
// binomial proportion, Statistical Science 16 (2001), with its open ends at
// count 0 and n.
func Jeffreys(count, n int, confidence float64) Interval {
	k, rest, tail := float64(count)+0.5, float64(n-count)+0.5, (1-confidence)/2
	return openEnds(count, n, Interval{betaQuantile(tail, k, rest), betaQuantile(1-tail, k, rest)})
}

// openEnds is in with no end where the count has none: a share of 0 may be
// 0, a share of 1 may be 1.
func openEnds(count, n int, in Interval) Interval {
	if count == 0 {
		in.Lo = 0
	}
	if count == n {
		in.Hi = 1
	}
	return in
}

// betaQuantile is NaN where the distribution does not exist; openEnds
// replaces it.
func betaQuantile(p, alpha, beta float64) float64 {
	if alpha <= 0 || beta <= 0 {
		return math.NaN()
	}
	return distuv.Beta{Alpha: alpha, Beta: beta}.Quantile(p)
}

func betaCDF(x, alpha, beta float64) float64 {
	return distuv.Beta{Alpha: alpha, Beta: beta}.CDF(x)
}
