package eq

import "math"

// ButterworthQs are the Qs of the second-order sections of a Butterworth
// filter, lowest first; an odd order has a first-order section besides.
//
//	Q_k = 1/(2·cos θ_k),  θ_k = π·(2k−1)/(2n) for even n, π·k/n for odd n
//
// Source: the poles lie evenly on a circle: S. Butterworth, On the theory of
// filter amplifiers, Experimental Wireless 7 (1930) (from memory).
func ButterworthQs(order int) []float64 {
	qs := make([]float64, order/2)
	for k := range qs {
		theta := math.Pi * (float64(k) + 0.5) / float64(order)
		if order%2 == 1 {
			theta = math.Pi * float64(k+1) / float64(order)
		}
		qs[k] = 1 / (2 * math.Cos(theta))
	}
	return qs
}

// ButterworthLowPass is a low-pass of 6·order dB per octave, −3.01 dB at
// freqHz, as sections in series; order 0 has none. Bilinear transform:
// the loss at f is 10·log10(1 + r^(2·order)), r = tan(πf/fs)/tan(πfreqHz/fs).
func ButterworthLowPass(rateHz, freqHz float64, order int) []Coefficients {
	return butterworth(rateHz, freqHz, order, CookbookLowPass, firstOrderLowPass)
}

// ButterworthHighPass is the high-pass of the same kind, with r inverted.
func ButterworthHighPass(rateHz, freqHz float64, order int) []Coefficients {
	return butterworth(rateHz, freqHz, order, CookbookHighPass, firstOrderHighPass)
}

func butterworth(rateHz, freqHz float64, order int,
	second func(rateHz, freqHz, q float64) Coefficients, first func(k float64) Coefficients) []Coefficients {
	var sections []Coefficients
	for _, q := range ButterworthQs(order) {
		sections = append(sections, second(rateHz, freqHz, q))
	}
	if order%2 == 1 {
		sections = append(sections, first(math.Tan(math.Pi*freqHz/rateHz)))
	}
	return sections
}

// firstOrderLowPass is 1/(s+1) by the bilinear transform, k = tan(πf/fs).
func firstOrderLowPass(k float64) Coefficients {
	return section(k, k, 0, k+1, k-1, 0)
}

// firstOrderHighPass is s/(s+1) by the bilinear transform, k = tan(πf/fs).
func firstOrderHighPass(k float64) Coefficients {
	return section(1, -1, 0, k+1, k-1, 0)
}
