package fourier

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

func randomSamples(seed uint64, n int) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// Against gonum's FFTPACK translation, relative to the largest bin.
func TestFFTAgainstGonum(t *testing.T) {
	for n := 8; n <= 1<<17; n *= 2 {
		x := randomSamples(uint64(n), n)
		re, im := make([]float64, n/2+1), make([]float64, n/2+1)
		f := NewFFT(n)
		f.Forward(re, im, x)
		worst, largest := 0.0, 0.0
		for k, want := range fourier.NewFFT(n).Coefficients(nil, x) {
			worst = max(worst, cmplx.Abs(complex(re[k], im[k])-want))
			largest = max(largest, cmplx.Abs(want))
		}
		if worst > 1e-12*largest {
			t.Errorf("n=%d: differs by %.2g of the largest bin", n, worst/largest)
		}
		back := make([]float64, n)
		f.Inverse(back, re, im)
		for i := range x {
			if math.Abs(back[i]-x[i]) > 1e-13 {
				t.Fatalf("n=%d: sample %d comes back as %g, was %g", n, i, back[i], x[i])
			}
		}
	}
}

// The definition itself, summed term by term.
func TestComplexFFTAgainstDefinition(t *testing.T) {
	for n := 4; n <= 256; n *= 2 {
		xr, xi := randomSamples(1, n), randomSamples(2, n)
		yr, yi := make([]float64, n), make([]float64, n)
		NewComplex(n).Transform(yr, yi, xr, xi)
		for k := range n {
			var want complex128
			for i := range n {
				want += complex(xr[i], xi[i]) * cmplx.Rect(1, -2*math.Pi*float64(k*i%n)/float64(n))
			}
			if d := cmplx.Abs(want - complex(yr[k], yi[k])); d > 1e-12 {
				t.Errorf("n=%d bin %d: off by %.2g", n, k, d)
			}
		}
	}
}

func TestFFTDoesNotAllocate(t *testing.T) {
	const n = 1 << 10
	f, x := NewFFT(n), randomSamples(1, n)
	re, im := make([]float64, n/2+1), make([]float64, n/2+1)
	if a := testing.AllocsPerRun(10, func() { f.Forward(re, im, x); f.Inverse(x, re, im) }); a != 0 {
		t.Errorf("%g allocations in a transform", a)
	}
}

func TestNewFFTRefuses(t *testing.T) {
	for _, n := range []int{-8, 0, 1, 4, 12, 1000} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("NewFFT(%d) does not refuse", n)
				}
			}()
			NewFFT(n)
		}()
	}
}

func BenchmarkFFT(b *testing.B) {
	for _, n := range []int{1 << 10, 1 << 12, 1 << 14, 1 << 16} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f, x := NewFFT(n), randomSamples(1, n)
			re, im := make([]float64, n/2+1), make([]float64, n/2+1)
			for b.Loop() {
				f.Forward(re, im, x)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/frame")
		})
	}
}
