package eq

import (
	"math"

	"strop/dsp"
)

// The designs of this file are those of R. Bristow-Johnson, Cookbook formulae
// for audio EQ biquad filter coefficients (W3C Group Note, 2021). They are the
// bilinear transform of an analogue prototype: exact at 0 Hz and at freqHz,
// which must lie above 0 and below half the rate.

// cookbook holds the intermediate values that the formulae share.
type cookbook struct{ cos, alpha float64 }

func byQ(rateHz, freqHz, q float64) cookbook {
	sin, cos := math.Sincos(2 * math.Pi * freqHz / rateHz)
	return cookbook{cos, sin / (2 * q)}
}

// section normalises to a0 = 1.
func section(b0, b1, b2, a0, a1, a2 float64) Coefficients {
	return Coefficients{b0 / a0, b1 / a0, b2 / a0, a1 / a0, a2 / a0}
}

func (k cookbook) over(b0, b1, b2 float64) Coefficients {
	return section(b0, b1, b2, 1+k.alpha, -2*k.cos, 1-k.alpha)
}

func (k cookbook) peak(gainDB float64) Coefficients {
	a := dsp.FromDB(gainDB / 2)
	return section(1+k.alpha*a, -2*k.cos, 1-k.alpha*a, 1+k.alpha/a, -2*k.cos, 1-k.alpha/a)
}

// CookbookPeak boosts or cuts around freqHz by gainDB; q sets the bandwidth
// between the points of half the gain in dB. Equal boost and cut cancel.
func CookbookPeak(rateHz, freqHz, gainDB, q float64) Coefficients {
	return byQ(rateHz, freqHz, q).peak(gainDB)
}

// CookbookPeakOct is CookbookPeak with the bandwidth in octaves, kept by the
// digital filter (which narrows towards half the rate).
func CookbookPeakOct(rateHz, freqHz, gainDB, widthOct float64) Coefficients {
	w := 2 * math.Pi * freqHz / rateHz
	sin, cos := math.Sincos(w)
	return cookbook{cos, sin * math.Sinh(math.Ln2/2*widthOct*w/sin)}.peak(gainDB)
}

// CookbookLowPass falls by 12 dB per octave above freqHz; its gain at freqHz
// is q, so that q = 1/√2 is Butterworth's −3 dB.
func CookbookLowPass(rateHz, freqHz, q float64) Coefficients {
	k := byQ(rateHz, freqHz, q)
	return k.over((1-k.cos)/2, 1-k.cos, (1-k.cos)/2)
}

// CookbookHighPass falls by 12 dB per octave below freqHz; its gain at freqHz
// is q.
func CookbookHighPass(rateHz, freqHz, q float64) Coefficients {
	k := byQ(rateHz, freqHz, q)
	return k.over((1+k.cos)/2, -1-k.cos, (1+k.cos)/2)
}

// CookbookBandPass has 0 dB at freqHz and falls by 6 dB per octave beside it.
func CookbookBandPass(rateHz, freqHz, q float64) Coefficients {
	k := byQ(rateHz, freqHz, q)
	return k.over(k.alpha, 0, -k.alpha)
}

// CookbookNotch removes freqHz; the −3 dB points are freqHz/q apart.
func CookbookNotch(rateHz, freqHz, q float64) Coefficients {
	k := byQ(rateHz, freqHz, q)
	return k.over(1, -2*k.cos, 1)
}

// CookbookAllPass keeps every level and turns the phase, by −180° at freqHz.
func CookbookAllPass(rateHz, freqHz, q float64) Coefficients {
	k := byQ(rateHz, freqHz, q)
	return k.over(1-k.alpha, -2*k.cos, 1+k.alpha)
}

// CookbookLowShelf changes everything below freqHz by gainDB, half of it at
// freqHz. slope 1 is the steepest without overshoot.
func CookbookLowShelf(rateHz, freqHz, gainDB, slope float64) Coefficients {
	return shelf(rateHz, freqHz, gainDB, slope, 1)
}

// CookbookHighShelf changes everything above freqHz by gainDB, half of it at
// freqHz. slope 1 is the steepest without overshoot.
func CookbookHighShelf(rateHz, freqHz, gainDB, slope float64) Coefficients {
	return shelf(rateHz, freqHz, gainDB, slope, -1)
}

// shelf is the low shelf for side 1; the high one, side −1, is its mirror
// image about a quarter of the rate.
func shelf(rateHz, freqHz, gainDB, slope, side float64) Coefficients {
	a := dsp.FromDB(gainDB / 2)
	sin, cos := math.Sincos(2 * math.Pi * freqHz / rateHz)
	r := sin * math.Sqrt(a*((a+1/a)*(1/slope-1)+2)) // 2·√A·alpha
	up, down, cos := a+1, a-1, side*cos
	return section(
		a*(up-down*cos+r), side*2*a*(down-up*cos), a*(up-down*cos-r),
		up+down*cos+r, side*-2*(down+up*cos), up+down*cos-r)
}
