package yin_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp/yin"
)

// The two equations, summed term by term.
func TestCompareAgainstDefinition(t *testing.T) {
	f := yin.New(300, 100)
	r := rand.New(rand.NewPCG(1, 1))
	x := make([]float64, f.Frames())
	for i := range x {
		x[i] = r.NormFloat64()
	}
	got, sum := f.Compare(x), 0.0
	for lag := 1; lag <= f.MaxLag; lag++ {
		d := 0.0
		for j := range f.Window {
			d += (x[j] - x[j+lag]) * (x[j] - x[j+lag])
		}
		sum += d
		if want := d * float64(lag) / sum; math.Abs(got[lag]-want) > 1e-12 {
			t.Fatalf("lag %d: %g, want %g", lag, got[lag], want)
		}
	}
	if got[0] != 1 {
		t.Errorf("lag 0: %g, want 1", got[0])
	}
}

// A sine whose period lies between two lags has it found there.
func TestRefine(t *testing.T) {
	f := yin.New(2048, 1024)
	x := make([]float64, f.Frames())
	for _, period := range []float64{24.31, 36.42, 109.09, 400.77, 990.5} {
		for i := range x {
			x[i] = math.Sin(2*math.Pi*float64(i)/period + 1)
		}
		lag := yin.First(f.Compare(x), 8, 0.1)
		if got := f.Refine(x, lag); math.Abs(1200*math.Log2(got/period)) > 0.05 { // cents
			t.Errorf("a period of %g is found as %g", period, got)
		}
	}
}

func TestCompareSilence(t *testing.T) {
	f := yin.New(64, 32)
	for lag, d := range f.Compare(make([]float64, 96)) {
		if d != 1 {
			t.Errorf("lag %d of silence: %g", lag, d)
		}
	}
	if lag := yin.First(f.Compare(make([]float64, 96)), 2, 0.1); lag != 0 {
		t.Errorf("silence has a period of %d", lag)
	}
}

func TestCompareDoesNotAllocate(t *testing.T) {
	f := yin.New(1024, 512)
	x := make([]float64, f.Frames())
	if n := testing.AllocsPerRun(5, func() { f.Compare(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkCompare(b *testing.B) {
	f := yin.New(2048, 1024)
	x := make([]float64, f.Frames())
	for i := range x {
		x[i] = math.Sin(float64(i) / 10)
	}
	for b.Loop() {
		f.Compare(x)
	}
}
