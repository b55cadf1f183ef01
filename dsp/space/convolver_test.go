package space

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// noisePath is n frames of decaying noise.
func noisePath(seed uint64, n int) []float64 {
	r, path := rand.New(rand.NewPCG(seed, 9)), make([]float64, n)
	for i := range path {
		path[i] = r.NormFloat64() * math.Exp(-3*float64(i)/float64(n))
	}
	return path
}

// direct is the convolution sum itself, delay frames late.
func direct(in []dsp.Frame, r *Response, delay int) []dsp.Frame {
	out := make([]dsp.Frame, len(in))
	for from := range 2 {
		for to := range 2 {
			for k, h := range r[from][to] {
				for n := k + delay; n < len(in); n++ {
					out[n][to] += h * in[n-k-delay][from]
				}
			}
		}
	}
	return out
}

func worstDifference(a, b []dsp.Frame) (worst, largest float64) {
	for i := range a {
		for side := range 2 {
			worst = max(worst, math.Abs(a[i][side]-b[i][side]))
			largest = max(largest, math.Abs(b[i][side]))
		}
	}
	return worst, largest
}

func TestConvolverForgets(t *testing.T) {
	p, err := NewConvolver(&Response{{noisePath(1, 9000), noisePath(2, 20000)}, {nil, noisePath(3, 30000)}}, 256)
	if err != nil {
		t.Fatal(err)
	}
	dsptest.Forgets(t, p, 48000)
}

// The sum that defines convolution, for lengths about the borders of the
// pieces, in stereo and in true stereo.
func TestConvolverAgainstSum(t *testing.T) {
	in := dsptest.Noise(3, 1, 12000)
	for _, c := range []struct{ block, n int }{
		{16, 1}, {16, 16}, {16, 240}, {16, 241}, {64, 5000}, {64, 960}, {64, 961}, {256, 9000}, {512, 4097}, {1024, 11000}, {4096, 4500},
	} {
		for name, r := range map[string]*Response{
			"stereo":      {{noisePath(1, c.n), nil}, {nil, noisePath(2, c.n)}},
			"true stereo": {{noisePath(1, c.n), noisePath(2, c.n)}, {noisePath(3, (c.n+1)/2), noisePath(4, c.n)}},
		} {
			p, err := NewConvolver(r, c.block)
			if err != nil {
				t.Fatal(err)
			}
			got := slices.Clone(in)
			p.Process(got)
			if worst, largest := worstDifference(got, direct(in, r, c.block)); worst > 1e-12*largest {
				t.Errorf("%s, %d frames in blocks of %d: off by %.2g of the largest value", name, c.n, c.block, worst/largest)
			}
		}
	}
}

// A few reflections, about the borders of the pieces of all sizes, are the
// input so much later.
func TestConvolverOfReflections(t *testing.T) {
	in, want := dsptest.Noise(3, 1, 60000), make([]dsp.Frame, 60000)
	path := make([]float64, 50000)
	for i, late := range []int{0, 3839, 3840, 16127, 16128, 32511, 32512, 48896, 49999} {
		path[late] = 0.5 - 0.1*float64(i)
		for n := late + 256; n < len(in); n++ {
			want[n][0] += path[late] * in[n-late-256][0]
			want[n][1] += path[late] * in[n-late-256][0]
		}
	}
	p, err := NewConvolver(&Response{{path, path}}, 256)
	if err != nil {
		t.Fatal(err)
	}
	p.Process(in)
	if worst, largest := worstDifference(in, want); worst > 1e-12*largest {
		t.Errorf("off by %.2g of the largest value", worst/largest)
	}
}

func TestConvolverSplits(t *testing.T) {
	r := &Response{{noisePath(1, 19000), noisePath(2, 50)}, {noisePath(3, 700), noisePath(4, 9000)}}
	p, err := NewConvolver(r, 64)
	if err != nil {
		t.Fatal(err)
	}
	in := dsptest.Noise(3, 1, 30000)
	want := slices.Clone(in)
	p.Process(want)
	p.Reset()
	got, random := slices.Clone(in), rand.New(rand.NewPCG(1, 1))
	for at := 0; at < len(got); {
		n := min(random.IntN(5000), len(got)-at)
		p.Process(got[at : at+n])
		at += n
	}
	if worst, _ := worstDifference(got, want); worst != 0 {
		t.Errorf("another split differs by %g", worst)
	}
	p.Reset()
	copy(got, in)
	p.Render(got)
	if worst, _ := worstDifference(got, want); worst != 0 {
		t.Errorf("rendered it differs by %g", worst)
	}
}

func TestNewConvolverRefuses(t *testing.T) {
	for _, block := range []int{-1, 0, 8, 100, 8192} {
		if _, err := NewConvolver(&Response{}, block); err == nil {
			t.Errorf("blocks of %d are taken", block)
		}
	}
	if _, err := NewConvolver(&Response{{{1, math.NaN()}}}, 64); err == nil {
		t.Error("a response with a NaN is taken")
	}
}

// BenchmarkConvolver is a response of two seconds at 48 kHz in stereo, the
// race of dsp/race.
func BenchmarkConvolver(b *testing.B) {
	for _, block := range []int{64, 256, 512, 4096} {
		b.Run(fmt.Sprint(block), func(b *testing.B) {
			p, err := NewConvolver(&Response{{noisePath(1, 96000), nil}, {nil, noisePath(2, 96000)}}, block)
			if err != nil {
				b.Fatal(err)
			}
			buf := dsptest.Noise(1, 0.1, 4096)
			p.Process(buf)
			for b.Loop() {
				p.Process(buf)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
		})
	}
}
