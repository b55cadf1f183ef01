package demo

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
)

func noise(n int) []float64 {
	r, x := rand.New(rand.NewPCG(7, 7)), make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// One metre is 2.91545 ms and 139.942 frames late at 48 kHz, twice the
// distance is 6.02 dB weaker (343 m/s, computed independently).
func TestDistance(t *testing.T) {
	mic := &stemScore{pattern: "omni", aim: place{1}}
	near, far := mic.routeTo(place{1}), mic.routeTo(place{2})
	if math.Abs(near.delay-139.942) > 0.001 || math.Abs(far.delay-2*139.942) > 0.001 {
		t.Errorf("%g and %g frames", near.delay, far.delay)
	}
	if got := dsp.ToDB(near.ratio / far.ratio); math.Abs(got-6.0206) > 0.001 || near.ratio != 1 {
		t.Errorf("%g dB", got)
	}
}

// A cardioid hears −6.02 dB from the side, a hypercardioid and an eight hear
// the back turned over; from everywhere an omni takes 1, a cardioid and an
// eight a third of the power, a hypercardioid a quarter (random energy
// efficiency; common textbook values).
func TestPatterns(t *testing.T) {
	for name, want := range map[string]struct{ side, back, power float64 }{
		"omni": {1, 1, 1}, "cardioid": {0.5, offAxis, 1. / 3}, "hyper": {0.25, -0.5, 0.25}, "eight": {offAxis, -1, 1. / 3},
	} {
		mic := &stemScore{pattern: name, aim: place{1}}
		if got := mic.routeTo(place{0, 1}).ratio; math.Abs(got-want.side) > 1e-9 {
			t.Errorf("%s: side %g, want %g", name, got, want.side)
		}
		if got := mic.routeTo(place{-1}).ratio; math.Abs(got-want.back) > 1e-9 {
			t.Errorf("%s: back %g, want %g", name, got, want.back)
		}
		if got := mic.diffuse() * mic.diffuse(); math.Abs(got-want.power) > 1e-9 {
			t.Errorf("%s: diffuse power %g, want %g", name, got, want.power)
		}
	}
}

// An ear delays by fractions of a frame, is flat, and does not depend on where
// its blocks begin.
func TestEar(t *testing.T) {
	x := noise(6 * sessionBlock)
	src := listen(x)
	for _, delay := range []float64{0, 10.25, 139.942, 48.5} {
		e := newEar(route{delay: delay, ratio: -0.5, cutHz: math.Inf(1)}, newKernel(1, earHalf, earBeta))
		y, near := make([]float64, len(x)), make([]float64, sessionBlock+2*earHalf)
		for from := 0; from < len(y); from += sessionBlock {
			e.add(y[from:from+sessionBlock], src, from, near)
		}
		got, sign := delayOf(x, y)
		if math.Abs(got-delay) > 0.1 || sign > 0 {
			t.Errorf("delay %g: %g frames, sign %g", delay, got, sign)
		}
		whole := newEar(route{delay: delay, ratio: -0.5, cutHz: math.Inf(1)}, newKernel(1, earHalf, earBeta))
		z := make([]float64, len(x))
		for from, n := 0, 0; from < len(z); from += n {
			n = min(1+from%997, len(z)-from, sessionBlock)
			whole.add(z[from:from+n], src, from, near[:n+2*earHalf])
		}
		for i := range z {
			if y[i] != z[i] {
				t.Fatalf("delay %g: blocks differ at %d", delay, i)
			}
		}
		tone := make([]float64, 4*sessionBlock)
		for _, hz := range []float64{1000, 10000, 16000, 18500} {
			for i := range tone {
				tone[i] = math.Sin(2 * math.Pi * hz * float64(i) / rateHz)
			}
			out := make([]float64, len(tone))
			e := newEar(route{delay: delay, ratio: 1, cutHz: math.Inf(1)}, newKernel(1, earHalf, earBeta))
			for from := 0; from < len(out); from += sessionBlock {
				e.add(out[from:from+sessionBlock], listen(tone), from, near)
			}
			if level, _ := fitTone(out[1000:3000], hz); math.Abs(level) > 0.5 {
				t.Errorf("delay %g: %g Hz at %.2f dB", delay, hz, level)
			}
		}
	}
}
