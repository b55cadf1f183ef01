package pitch

import (
	"math"

	"strop/dsp"
)

// spectra are those of L + iR and of L − iR in a window, from bin 0 to n/2: in
// products of the two with those of other bins, what is mixed cancels.
type spectra struct {
	plusRe, plusIm, minusRe, minusIm []float64
	level                            []int32 // bucket
}

func newSpectra(bins int) spectra {
	return spectra{make([]float64, bins), make([]float64, bins), make([]float64, bins), make([]float64, bins), make([]int32, bins)}
}

func (p *spectra) reset() {
	clear(p.plusRe)
	clear(p.plusIm)
	clear(p.minusRe)
	clear(p.minusIm)
	clear(p.level)
}

// take takes the transform of L + iR in, of twice as many numbers as there are
// bins less two, and tells the loudest bucket.
func (p *spectra) take(re, im []float64) (loudest int32) {
	n, k := len(re), 1
	p.takeBin(0, re[0], im[0], re[0], im[0])
	if bins := len(p.level) - 1; vectors && bins&3 == 0 {
		loudest = take4(&p.plusRe[1], &p.plusIm[1], &p.minusRe[1], &p.minusIm[1], &p.level[1], &re[1], &im[1], &re[n-4], &im[n-4], bins)
		k += bins
	}
	for ; k < len(p.level); k++ {
		p.takeBin(k, re[k], im[k], re[n-k], im[n-k])
		loudest = max(loudest, p.level[k])
	}
	return max(loudest, p.level[0])
}

// takeBin takes bin k in, and the one as far below 0.
func (p *spectra) takeBin(k int, re, im, mirrorRe, mirrorIm float64) {
	p.plusRe[k], p.plusIm[k], p.minusRe[k], p.minusIm[k] = re, im, mirrorRe, -mirrorIm
	p.level[k] = bucketOf(re*re + im*im + mirrorRe*mirrorRe + mirrorIm*mirrorIm)
}

// turned writes p to the transform re, im, each bin but the ends turned, and
// wraps the turns.
func turned(re, im, turns []float64, p *spectra) {
	n, k := len(re), 1
	if done := (len(turns) - 1) &^ 3; vectors && done > 0 {
		turned4(&re[1], &im[1], &re[n-4], &im[n-4], &turns[1], &p.plusRe[1], &p.plusIm[1], &p.minusRe[1], &p.minusIm[1], done)
		k += done
	}
	for ; k < len(turns); k++ {
		turns[k] = wrapped(turns[k])
		sin, cos := sincosOf(turns[k])
		a, b, c, d := p.plusRe[k], p.plusIm[k], p.minusRe[k], p.minusIm[k]
		re[k], im[k] = a*cos-b*sin, a*sin+b*cos
		re[n-k], im[n-k] = c*cos-d*sin, -(c*sin + d*cos)
	}
}

// seen is what is seen of x through a window, left and right.
func seen(l, r, window []float64, x []dsp.Frame) {
	n := len(window)
	l, r, x = l[:n], r[:n], x[:n]
	done := 0
	if vectors && n >= 4 {
		done = n &^ 3
		seen4(&l[0], &r[0], &window[0], &x[0], done)
	}
	for i := done; i < n; i++ {
		l[i], r[i] = window[i]*x[i][0], window[i]*x[i][1]
	}
}

// overlapped adds l and r, as seen through a window, scale times to out.
func overlapped(out []dsp.Frame, window []float64, scale float64, l, r []float64) {
	n := len(window)
	l, r, out = l[:n], r[:n], out[:n]
	done := 0
	if vectors && n >= 4 {
		done = n &^ 3
		overlapped4(&out[0], &window[0], scale, &l[0], &r[0], done)
	}
	for i := done; i < n; i++ {
		w := scale * window[i]
		out[i][0] += w * l[i]
		out[i][1] += w * r[i]
	}
}

// bucketOf numbers powers by their logarithm, eight to a factor of two; below
// 1e-30 all are 0.
func bucketOf(power float64) int32 {
	const shift = 52 - 3
	const least = (1023 - 100) << 3
	return int32(min(max(int(math.Float64bits(power)>>shift)-least, 0), buckets-1))
}

// buckets reach from 2^−100 to 2^156.
const buckets = 256 << 3
