package measure

import "math"

// densityWindowMS is the length of the window that echo density looks through.
const densityWindowMS = 20

// gaussianShare is the share of Gaussian noise that lies beyond its standard
// deviation: erfc(1/√2).
var gaussianShare = math.Erfc(1 / math.Sqrt2)

// EchoDensity is how dense an impulse response is in the course of time, every
// millisecond from its first frame: near 0 for single echoes, 1 for Gaussian
// noise.
//
//	η(t) = Σ w(τ)·[|h(τ)| > σ(t)] / erfc(1/√2),  σ²(t) = Σ w(τ)·h²(τ)
//
// w is a Hann window of 20 ms around t, of sum 1. Where there is silence the
// density is 0.
//
// Source: J. S. Abel, P. Huang, A simple, robust measure of reverberation echo
// density, AES 121st Convention (2006).
func EchoDensity(h []float64, rateHz float64) []float64 {
	checkRate(rateHz)
	window := hannOfSumOne(int(densityWindowMS*rateHz/1000) | 1)
	profile := make([]float64, int(float64(len(h))*1000/rateHz))
	for i := range profile {
		first := int(float64(i)*rateHz/1000) - len(window)/2
		profile[i] = density(h, window, first)
	}
	return profile
}

// density is that in a window that begins at frame first, which may lie before
// h.
func density(h, window []float64, first int) float64 {
	from, to := max(0, -first), min(len(window), len(h)-first)
	power, share := 0.0, 0.0
	for i := from; i < to; i++ {
		power += window[i] * h[first+i] * h[first+i]
	}
	for i := from; i < to; i++ {
		if h[first+i]*h[first+i] > power {
			share += window[i]
		}
	}
	return share / gaussianShare
}

func hannOfSumOne(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))) / float64(n)
	}
	return w
}

// DenseFromMS is the first time in an echo-density profile at which it is at
// least density; -1 where there is none.
func DenseFromMS(profile []float64, density float64) int {
	for i, d := range profile {
		if d >= density {
			return i
		}
	}
	return -1
}
