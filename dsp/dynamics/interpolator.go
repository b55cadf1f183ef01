package dynamics

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// The curve through the samples is found at 8 places per sample by a windowed
// sinc, 28 samples to each side. At place 0 it is the sample itself.
const (
	places    = 8
	reach     = 28  // samples to each side of an interval
	beta      = 4.5 // shape of the window: what mirrors at half the rate is about 49 dB down
	pairs     = places/2 - 1
	padded    = 32   // taps in a row; those beyond reach are 0
	parabolic = 0.98 // under cos(π/16): how far under the curve's peak a place can lie
)

// interpolator holds the taps. The places k and 8−k mirror each other, so
// their taps are kept as half sum and half difference, and applied to the sums
// and differences of the samples that lie opposite:
//
//	even·(x[−j] + x[1+j]) ± odd·(x[−j] − x[1+j]),  j = 0 … reach−1
//
// Each place reproduces a straight line exactly. Hence the curve leaves the
// chord between two samples by at most curvature times the greatest second
// difference within reach.
//
// Source: J. F. Kaiser, Nonrecursive digital filter design using the I0-sinh
// window function, IEEE ISCAS (1974) for the window (from memory); ITU-R
// BS.1770-5 Annex 2 for the use. The bound is our own.
type interpolator struct {
	middle    [padded]float64
	even, odd [pairs][padded]float64
	curvature float64
}

func newInterpolator() *interpolator {
	ip := &interpolator{}
	for k := 1; k <= places/2; k++ {
		taps := tapsAt(float64(k) / places)
		ip.curvature = max(ip.curvature, curvatureOf(taps, float64(k)/places))
		for j := range reach {
			left, right := taps[reach-1-j], taps[reach+j]
			if k == places/2 {
				ip.middle[j] = (left + right) / 2
				continue
			}
			ip.even[k-1][j], ip.odd[k-1][j] = (left+right)/2, (left-right)/2
		}
	}
	return ip
}

// tapsAt are the weights of the samples −reach+1 … reach for the curve at t,
// 0 < t < 1, corrected so that constants and straight lines pass exactly.
func tapsAt(t float64) (taps [2 * reach]float64) {
	sum, moment := 0.0, 0.0
	for i := range taps {
		d := t - float64(i-reach+1)
		taps[i] = math.Sin(math.Pi*d) / (math.Pi * d) * kaiser.Window(d/reach, beta)
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
		moment += taps[i] * float64(i-reach+1)
	}
	taps[reach] += t - moment
	taps[reach-1] -= t - moment
	return taps
}

// curvatureOf is Σ|r| where r, applied to the second differences of the
// samples, gives what the taps add to the chord: the taps less those of the
// chord, summed twice.
func curvatureOf(taps [2 * reach]float64, t float64) (total float64) {
	taps[reach-1] -= 1 - t
	taps[reach] -= t
	once, twice := 0.0, 0.0
	for _, tap := range taps {
		once += tap
		twice += once
		total += math.Abs(twice)
	}
	return total
}

// curve is the absolute value of one channel's curve over an interval, both
// ends included.
type curve [places + 1]float64

// between is the curve of both channels between the two middle samples of
// window.
func (ip *interpolator) between(window *[2 * reach]dsp.Frame) (left, right curve) {
	var sum, diff [padded]dsp.Frame
	for j := range reach {
		a, b := &window[reach-1-j], &window[reach+j]
		sum[j][0], sum[j][1] = a[0]+b[0], a[1]+b[1]
		diff[j][0], diff[j][1] = a[0]-b[0], a[1]-b[1]
	}
	from, to := &window[reach-1], &window[reach]
	left[0], right[0] = math.Abs(from[0]), math.Abs(from[1])
	left[places], right[places] = math.Abs(to[0]), math.Abs(to[1])
	y := taps.Sum(ip.middle[:], sum[:])
	left[places/2], right[places/2] = math.Abs(y[0]), math.Abs(y[1])
	for k := range pairs {
		e, o := taps.Sum(ip.even[k][:], sum[:]), taps.Sum(ip.odd[k][:], diff[:])
		left[k+1], right[k+1] = math.Abs(e[0]+o[0]), math.Abs(e[1]+o[1])
		left[places-1-k], right[places-1-k] = math.Abs(e[0]-o[0]), math.Abs(e[1]-o[1])
	}
	return left, right
}

// peak is the greatest value of the curve, each local maximum above least
// raised to the top of the parabola through it and its neighbours; before is
// the value at the last place of the interval before.
func (c *curve) peak(before, least float64) float64 {
	most := c[places]
	for k := range places {
		y, after := c[k], c[k+1]
		if y > least && y >= before && y >= after && y+y > before+after {
			d := after - before
			y += d * d / (8 * (y + y - before - after))
		}
		most = greater(most, y)
		before = c[k]
	}
	return most
}
