package taps

import (
	"math"
	"math/rand/v2"
	"testing"
)

func numbers(r *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

func frames(r *rand.Rand, n int) [][2]float64 {
	x := make([][2]float64, n)
	for i := range x {
		x[i] = [2]float64{r.NormFloat64(), r.NormFloat64()}
	}
	return x
}

// The sums are those of the definitions, added up one after the other.
func TestDefinitions(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for n := range 70 {
		taps, steps, x := numbers(r, n), numbers(r, n), frames(r, n+3)
		var sum, between [2]float64
		for i, w := range taps {
			for c := range sum {
				sum[c] += w * x[i][c]
				between[c] += (w + 0.3*steps[i]) * x[i][c]
			}
		}
		near(t, "sum", n, Sum(taps, x), sum)
		if n%8 == 0 {
			near(t, "between", n, Between(taps, steps, 0.3, x), between)
		}
		for _, step := range []int{1, 2} {
			for count := range 20 {
				dst, x := make([][2]float64, count), frames(r, max(count-1, 0)*step+2*n)
				Mirror(dst, taps, x, step)
				for i := range dst {
					var want [2]float64
					for j, w := range taps {
						for c := range want {
							want[c] += w * (x[i*step+n-1-j][c] + x[i*step+n+j][c])
						}
					}
					near(t, "mirror", n, dst[i], want)
				}
			}
		}
		quads, want := make([][4]float64, n), [4]float64{}
		for i := range quads {
			quads[i] = [4]float64(numbers(r, 4))
			for c, v := range quads[i] {
				want[c] += taps[i] * v
			}
		}
		got := Quads(taps, quads)
		near(t, "quads", n, [2]float64(got[:2]), [2]float64(want[:2]))
		near(t, "quads", n, [2]float64(got[2:]), [2]float64(want[2:]))
	}
}

func near(t *testing.T, what string, n int, got, want [2]float64) {
	t.Helper()
	if !(math.Abs(got[0]-want[0]) < 1e-13 && math.Abs(got[1]-want[1]) < 1e-13) {
		t.Errorf("%s of %d taps: %v, want %v", what, n, got, want)
	}
}

// The vectors, where there are any, give what the plain code gives, to the bit.
// Where that is compiled with fused multiplications (GOAMD64=v3) the last bits
// differ.
func TestVectors(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for n := 8; n < 70; n += 8 {
		taps, steps, x := numbers(r, n), numbers(r, n), frames(r, n)
		near(t, "sum", n, Sum(taps, x), plainSum(taps, x))
		near(t, "between", n, Between(taps, steps, 0.7, x), plainBetween(taps, steps, 0.7, x))
		for _, step := range []int{1, 2} {
			x := frames(r, 15*step+2*n)
			got, want := make([][2]float64, 16), make([][2]float64, 16)
			Mirror(got, taps, x, step)
			plainMirror(want, taps, x, step)
			for i := range got {
				near(t, "mirror", n, got[i], want[i])
			}
		}
	}
	for n := range 20 {
		weights, x := numbers(r, n), make([][4]float64, n)
		for i := range x {
			x[i] = [4]float64(numbers(r, 4))
		}
		got, want := Quads(weights, x), plainQuads(weights, x)
		for c := range got {
			if math.Abs(got[c]-want[c]) > 1e-13 {
				t.Errorf("quads of %d: %v, plain code gives %v", n, got, want)
			}
		}
	}
}

func BenchmarkBetween(b *testing.B) {
	r := rand.New(rand.NewPCG(3, 3))
	taps, steps, x := numbers(r, 48), numbers(r, 48), frames(r, 48)
	for name, f := range map[string]func([]float64, []float64, float64, [][2]float64) [2]float64{"as it is": Between, "plain": plainBetween} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				f(taps, steps, 0.3, x)
			}
		})
	}
}

// A walk is one place between two rows after the other, with vectors and without.
func TestWalk(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	const places = 16
	for _, n := range []int{8, 24, 40} {
		rows, x := numbers(r, 2*n*places), frames(r, 80+n)
		for _, step := range []float64{0, 0.3, 1, 1.0116, 2} {
			got := make([][2]float64, 37)
			const at = 2.71
			Walk(got, rows, n, places, x, at, step)
			for i, y := range got {
				whole, part := math.Modf(at + float64(i)*step)
				p, part := math.Modf(part * places)
				row := rows[2*int(p)*n:][:2*n]
				want := plainBetween(row[:n], row[n:], part, x[int(whole):])
				if !(math.Abs(y[0]-want[0]) < 1e-10 && math.Abs(y[1]-want[1]) < 1e-10) {
					t.Fatalf("%d taps, %g apart, frame %d: %v, want %v", n, step, i, y, want)
				}
			}
			tight := x[:int(at+36*step)+n] // too short to walk without looking
			again := make([][2]float64, len(got))
			Walk(again, rows, n, places, tight, at, step)
			for i := range got {
				if again[i] != got[i] {
					t.Errorf("%d taps, %g apart, frame %d: %v and %v", n, step, i, got[i], again[i])
				}
			}
		}
	}
}
