package pitch

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/dsp"
)

// A spectrum is taken apart as its definition says, and buckets are eight to an
// octave of power.
func TestSpectraTake(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	const n = 256
	re, im := make([]float64, n), make([]float64, n)
	for k := range re {
		scale := math.Exp2(60 * r.NormFloat64())
		re[k], im[k] = scale*r.NormFloat64(), scale*r.NormFloat64()
	}
	re[7], im[7], re[n-7], im[n-7] = 0, 0, 0, 0
	p := newSpectra(n/2 + 1)
	loudest := p.take(re, im)
	for k := range p.level {
		m := (n - k) % n
		if p.plusRe[k] != re[k] || p.plusIm[k] != im[k] || p.minusRe[k] != re[m] || p.minusIm[k] != -im[m] {
			t.Errorf("bin %d: %g, %g, %g, %g", k, p.plusRe[k], p.plusIm[k], p.minusRe[k], p.minusIm[k])
		}
		if want := bucketOf(re[k]*re[k] + im[k]*im[k] + re[m]*re[m] + im[m]*im[m]); p.level[k] != want {
			t.Errorf("bin %d: bucket %d, want %d", k, p.level[k], want)
		}
	}
	if want := slices.Max(p.level); loudest != want {
		t.Errorf("the loudest is %d, want %d", loudest, want)
	}
	for power, want := range map[float64]int32{0: 0, 1e-40: 0, 1: 800, 1.124: 800, 1.126: 801, 2: 808, 1e300: buckets - 1} {
		if got := bucketOf(power); got != want {
			t.Errorf("a power of %g is in bucket %d, want %d", power, got, want)
		}
	}
}

// Every bin is turned as the library turns it.
func TestTurned(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	const n = 128
	re, im, turns, was := make([]float64, n), make([]float64, n), make([]float64, n/2), make([]float64, n/2)
	p := newSpectra(n/2 + 1)
	for k := range turns {
		was[k] = 3 * r.NormFloat64()
		p.plusRe[k], p.plusIm[k], p.minusRe[k], p.minusIm[k] = r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()
	}
	copy(turns, was)
	turned(re, im, turns, &p)
	for k := 1; k < n/2; k++ {
		sin, cos := math.Sincos(2 * math.Pi * was[k])
		by := complex(cos, sin)
		plus, minus := by*complex(p.plusRe[k], p.plusIm[k]), by*complex(p.minusRe[k], p.minusIm[k])
		for i, d := range []float64{re[k] - real(plus), im[k] - imag(plus), re[n-k] - real(minus), im[n-k] + imag(minus), wrapped(turns[k] - was[k])} {
			if math.Abs(d) > 1e-7 {
				t.Errorf("bin %d: number %d is off by %.2g", k, i, d)
			}
		}
		if sin, cos := sincosOf(wrapped(was[k])); math.Abs(re[k]-(p.plusRe[k]*cos-p.plusIm[k]*sin)) > 1e-14 {
			t.Errorf("bin %d: plain code turns it to another place", k)
		}
	}
}

// What is seen through a window and what is overlapped is each frame by itself.
func TestWindows(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	const n = 23
	l, rr, window, x, out := make([]float64, n), make([]float64, n), make([]float64, n), make([]dsp.Frame, n), make([]dsp.Frame, n)
	for i := range x {
		window[i], x[i], out[i] = r.NormFloat64(), dsp.Frame{r.NormFloat64(), r.NormFloat64()}, dsp.Frame{r.NormFloat64(), r.NormFloat64()}
	}
	was := slices.Clone(out)
	seen(l, rr, window, x)
	overlapped(out, window, 0.3, l, rr)
	for i, w := range window {
		for c, got := range []float64{l[i], rr[i]} {
			if math.Abs(got-w*x[i][c]) > 1e-15 || math.Abs(out[i][c]-was[i][c]-0.3*w*w*x[i][c]) > 1e-13 {
				t.Errorf("frame %d: %g is seen, %g comes out", i, got, out[i][c])
			}
		}
	}
}
