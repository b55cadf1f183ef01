package eq

import "math"

// QFromOct is the Q of a peak whose points of half the gain are widthOct apart:
//
//	1/Q = 2·sinh(ln2/2 · widthOct)
//
// It holds for the analogue filter, for every gain; for a notch or band-pass
// the points are those of −3 dB. Source: R. Bristow-Johnson, Cookbook formulae
// for audio EQ biquad filter coefficients (W3C Group Note, 2021).
func QFromOct(widthOct float64) float64 { return 1 / (2 * math.Sinh(math.Ln2/2*widthOct)) }

// OctFromQ is the bandwidth in octaves of a Q, the inverse of QFromOct.
func OctFromQ(q float64) float64 { return 2 / math.Ln2 * math.Asinh(1/(2*q)) }
