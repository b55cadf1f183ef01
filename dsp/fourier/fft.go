// Package fourier holds the discrete Fourier transform, for the processors and
// the meters that need it.
package fourier

import (
	"fmt"
	"math"
	"math/bits"
)

// FFT is the plan of a discrete Fourier transform of n real samples.
//
//	X[k] = Σ x[i]·e^(−2πi·k·i/n),  k from 0 to n/2
//
// The n samples are packed into n/2 complex ones, transformed, and the two
// interleaved spectra are taken apart. No transform allocates; a plan holds
// work space, so that each goroutine needs its own.
// Source: Cooley, Lewis & Welch, The fast Fourier transform algorithm:
// programming considerations, J. Sound Vib. 12 (1970), for the packing (from
// memory).
type FFT struct {
	half   *Complex
	turn   []float64 // cos, sin of 2πk/n, k from 0 to n/4
	re, im []float64
}

// NewFFT plans transforms of n samples. It panics unless n is a power of two
// and at least 8.
func NewFFT(n int) *FFT {
	if n < 8 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fourier: an FFT of %d samples; take a power of two from 8 up", n))
	}
	work := Apart(2, n/2)
	f := &FFT{half: NewComplex(n / 2), re: work[0], im: work[1]}
	for k := range n/4 + 1 {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		f.turn = append(f.turn, cos, sin)
	}
	return f
}

// Len is the number of samples n.
func (f *FFT) Len() int { return 2 * f.half.n }

// Forward writes the spectrum of x into re and im, bins 0 (direct current) to
// n/2 (half the rate); im is 0 at both ends. x has n samples and stays as it
// is, re and im have n/2+1 each.
func (f *FFT) Forward(re, im, x []float64) {
	h := f.half.n
	x, re, im = x[:2*h], re[:h+1], im[:h+1]
	for i := range f.re {
		f.re[i], f.im[i] = x[2*i], x[2*i+1]
	}
	f.half.Transform(re[:h], im[:h], f.re, f.im)
	re[h], im[h] = re[0]-im[0], 0
	re[0], im[0] = re[0]+im[0], 0
	for k := 1; k <= h/2; k++ {
		c, s := f.turn[2*k], f.turn[2*k+1]
		ar, ai := (re[k]+re[h-k])/2, (im[k]-im[h-k])/2 // spectrum of the even samples
		br, bi := (im[k]+im[h-k])/2, (re[h-k]-re[k])/2 // and of the odd ones
		tr, ti := br*c+bi*s, bi*c-br*s
		re[k], im[k] = ar+tr, ai+ti
		re[h-k], im[h-k] = ar-tr, ti-ai
	}
}

// Inverse writes the n samples of a spectrum into x: Inverse of Forward of x
// is x. im is taken as 0 at both ends. re and im stay as they are.
func (f *FFT) Inverse(x, re, im []float64) {
	h := f.half.n
	x, re, im = x[:2*h], re[:h+1], im[:h+1]
	f.re[0], f.im[0] = (re[0]+re[h])/2, (re[h]-re[0])/2
	for k := 1; k <= h/2; k++ {
		c, s := f.turn[2*k], f.turn[2*k+1]
		ar, ai := (re[k]+re[h-k])/2, (im[k]-im[h-k])/2
		tr, ti := (re[k]-re[h-k])/2, (im[k]+im[h-k])/2
		br, bi := tr*c-ti*s, ti*c+tr*s
		// Conjugated, so that the forward transform goes backwards.
		f.re[k], f.im[k] = ar-bi, -ai-br
		f.re[h-k], f.im[h-k] = ar+bi, ai-br
	}
	f.half.Transform(x[:h], x[h:], f.re, f.im)
	copy(f.re, x[:h])
	copy(f.im, x[h:])
	ratio := 1 / float64(h)
	for i := range f.re {
		x[2*i], x[2*i+1] = f.re[i]*ratio, -f.im[i]*ratio
	}
}

// A Complex transforms n complex numbers, held as two arrays: radix 4,
// with one pass of radix 2 at the end where n is not a power of four. The
// passes go to and fro between two arrays and leave the result in order.
// Source: Stockham's autosort algorithm, in Van Loan, Computational
// Frameworks for the Fast Fourier Transform (1992), §1.7 (from memory).
type Complex struct {
	n      int
	passes [][]float64 // for each p: cos, −sin of 2πp/m, 4πp/m, 6πp/m; m = n, n/4, n/16 …; in the first, all p of each
	re, im []float64
}

// NewComplex plans transforms of n numbers, n a power of two from 4 up.
func NewComplex(n int) *Complex {
	work := Apart(2, n)
	f := &Complex{n: n, re: work[0], im: work[1]}
	for m := n; m >= 4; m /= 4 {
		turns := make([]float64, 0, 6*m/4)
		for p := range m / 4 {
			for j := 1; j <= 3; j++ {
				sin, cos := math.Sincos(2 * math.Pi * float64(j*p) / float64(m))
				turns = append(turns, cos, -sin)
			}
		}
		f.passes = append(f.passes, turns)
	}
	f.passes[0] = apart6(f.passes[0])
	return f
}

// apart6 is rows of six numbers, column after column.
func apart6(rows []float64) []float64 {
	columns, n := make([]float64, len(rows)), len(rows)/6
	for i, v := range rows {
		columns[i%6*n+i/6] = v
	}
	return columns
}

// Apart makes arrays of n numbers, n a power of two. They are a kilobyte off
// from lying a power of two apart, for then a pass would read and write all
// of them through the same few lines of the cache, at half the speed.
func Apart(count, n int) [][]float64 {
	const gap = 128
	all := make([]float64, count*(n+gap))
	arrays := make([][]float64, count)
	for i := range arrays {
		arrays[i] = all[i*(n+gap)+gap:][:n:n]
	}
	return arrays
}

// Transform writes the spectrum of (xr, xi) into (yr, yi), which must be
// other arrays. All have n elements; x stays as it is.
func (f *Complex) Transform(yr, yi, xr, xi []float64) {
	odd := bits.TrailingZeros(uint(f.n))%2 == 1
	toY := (len(f.passes)%2 == 1) != odd // the last pass must write to y
	stride := 1
	for _, turns := range f.passes {
		dr, di := f.re, f.im
		if toY {
			dr, di = yr, yi
		}
		if stride == 1 {
			firstPass(dr, di, xr, xi, turns)
		} else {
			pass(dr, di, xr, xi, turns, stride)
		}
		xr, xi, toY, stride = dr, di, !toY, 4*stride
	}
	if odd {
		lastPass(yr, yi, xr, xi)
	}
}

// firstPass is pass with a stride of 1; turns are apart.
func firstPass(yr, yi, xr, xi, turns []float64) {
	m := len(xr) / 4
	if vectors && m >= 4 {
		yr, yi, xi, turns = yr[:4*m], yi[:4*m], xi[:4*m], turns[:6*m]
		firstPass4(&yr[0], &yi[0], &xr[0], &xi[0], &turns[0], m)
		return
	}
	plainFirstPass(yr, yi, xr, xi, turns)
}

func plainFirstPass(yr, yi, xr, xi, turns []float64) {
	m := len(xr) / 4
	ar, br, cr, dr := xr[:m], xr[m:2*m], xr[2*m:3*m], xr[3*m:4*m]
	ai, bi, ci, di := xi[:m], xi[m:2*m], xi[2*m:3*m], xi[3*m:4*m]
	w1r, w1i, w2r, w2i, w3r, w3i := turns[:m], turns[m:2*m], turns[2*m:3*m], turns[3*m:4*m], turns[4*m:5*m], turns[5*m:6*m]
	for p := range ar {
		outR, outI := (*[4]float64)(yr[4*p:]), (*[4]float64)(yi[4*p:])
		sr, si, tr, ti := ar[p]+cr[p], ai[p]+ci[p], ar[p]-cr[p], ai[p]-ci[p]
		ur, ui, vr, vi := br[p]+dr[p], bi[p]+di[p], br[p]-dr[p], bi[p]-di[p]
		outR[0], outI[0] = sr+ur, si+ui
		er, ei := tr+vi, ti-vr
		outR[1], outI[1] = er*w1r[p]-ei*w1i[p], er*w1i[p]+ei*w1r[p]
		er, ei = sr-ur, si-ui
		outR[2], outI[2] = er*w2r[p]-ei*w2i[p], er*w2i[p]+ei*w2r[p]
		er, ei = tr-vi, ti+vr
		outR[3], outI[3] = er*w3r[p]-ei*w3i[p], er*w3i[p]+ei*w3r[p]
	}
}

// pass is one radix-4 pass over transforms that lie stride apart, a power of
// four from 4 up.
func pass(yr, yi, xr, xi, turns []float64, stride int) {
	m := len(xr) / 4
	if vectors {
		yr, yi, xi, turns = yr[:4*m], yi[:4*m], xi[:4*m], turns[:6*m/stride]
		pass4(&yr[0], &yi[0], &xr[0], &xi[0], &turns[0], m, stride)
		return
	}
	plainPass(yr, yi, xr, xi, turns, stride)
}

func plainPass(yr, yi, xr, xi, turns []float64, stride int) {
	m := len(xr) / 4
	for p := range m / stride {
		w := (*[6]float64)(turns[6*p:])
		plainButterflies(yr[4*p*stride:], yi[4*p*stride:], xr[p*stride:], xi[p*stride:], w, m, stride)
	}
}

// plainButterflies is one of a pass's transforms.
func plainButterflies(yr, yi, xr, xi []float64, w *[6]float64, m, s int) {
	ar, br, cr, dr := xr[:s], xr[m:][:s], xr[2*m:][:s], xr[3*m:][:s]
	ai, bi, ci, di := xi[:s], xi[m:][:s], xi[2*m:][:s], xi[3*m:][:s]
	r0, r1, r2, r3 := yr[:s], yr[s:][:s], yr[2*s:][:s], yr[3*s:][:s]
	i0, i1, i2, i3 := yi[:s], yi[s:][:s], yi[2*s:][:s], yi[3*s:][:s]
	w1r, w1i, w2r, w2i, w3r, w3i := w[0], w[1], w[2], w[3], w[4], w[5]
	for q := range ar {
		sr, si, tr, ti := ar[q]+cr[q], ai[q]+ci[q], ar[q]-cr[q], ai[q]-ci[q]
		ur, ui, vr, vi := br[q]+dr[q], bi[q]+di[q], br[q]-dr[q], bi[q]-di[q]
		r0[q], i0[q] = sr+ur, si+ui
		er, ei := tr+vi, ti-vr
		r1[q], i1[q] = er*w1r-ei*w1i, er*w1i+ei*w1r
		er, ei = sr-ur, si-ui
		r2[q], i2[q] = er*w2r-ei*w2i, er*w2i+ei*w2r
		er, ei = tr-vi, ti+vr
		r3[q], i3[q] = er*w3r-ei*w3i, er*w3i+ei*w3r
	}
}

// lastPass is the pass of radix 2, whose factors are all 1.
func lastPass(yr, yi, xr, xi []float64) {
	m := len(xr) / 2
	ar, ai, br, bi := xr[:m], xi[:m], xr[m:2*m], xi[m:2*m]
	for q := range ar {
		yr[q], yi[q] = ar[q]+br[q], ai[q]+bi[q]
		yr[q+m], yi[q+m] = ar[q]-br[q], ai[q]-bi[q]
	}
}
