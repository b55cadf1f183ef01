package skill

import "math"

// Tail is the chance of k or more right of n by guessing at a share chance.
func Tail(k, n int, chance float64) float64 {
	sum := 0.0
	for i := n; i >= max(k, 0); i-- {
		sum += binomial(i, n, chance)
	}
	return min(sum, 1)
}

// LeastRight is the least number right of n that guessing reaches with at
// most chance alpha; n+1 where not even all right is enough.
func LeastRight(n int, chance, alpha float64) int {
	sum, k := 0.0, n+1
	for ; k > 0; k-- {
		sum += binomial(k-1, n, chance)
		if sum > alpha {
			return k
		}
	}
	return k
}

// Power is the chance that a listener who is right with a share passes the
// test of n trials that guessing passes with at most alpha.
func Power(n int, chance, alpha, share float64) float64 {
	return Tail(LeastRight(n, chance, alpha), n, share)
}

// TrialsFor is the least n from which on, up to most, the power stays at
// least power; more than most where it never does. Power does not rise with
// every trial, since counts are whole.
func TrialsFor(power, chance, alpha, share float64, most int) int {
	for n := most; n > 0; n-- {
		if Power(n, chance, alpha, share) < power {
			return n + 1
		}
	}
	return 1
}

// ShareAbove is the probability that the share right is above a value, after
// k right of n, when every share was as likely beforehand.
func ShareAbove(value float64, k, n int) float64 {
	return 1 - betaCDF(value, float64(k)+1, float64(n-k)+1)
}

// binomial is the chance of exactly k of n, each with chance p.
func binomial(k, n int, p float64) float64 {
	switch {
	case p <= 0:
		return indicator(k == 0)
	case p >= 1:
		return indicator(k == n)
	}
	all, _ := math.Lgamma(float64(n + 1))
	these, _ := math.Lgamma(float64(k + 1))
	others, _ := math.Lgamma(float64(n - k + 1))
	return math.Exp(all - these - others + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
