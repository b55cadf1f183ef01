package pitch

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The exchanges find the median of all rows of zeros and ones, so of any: D. E.
// Knuth, The Art of Computer Programming 3, 5.3.4, theorem Z (from memory).
func TestMedianOf9(t *testing.T) {
	for bits := range 1 << 9 {
		var row [9]float64
		ones := 0
		for i := range row {
			row[i] = float64(bits >> i & 1)
			ones += bits >> i & 1
		}
		if got := medianOf9(&row); got == 1 != (ones >= 5) {
			t.Errorf("the median of %09b is %g", bits, got)
		}
	}
}

// The masks are those of the definition, with medians of sorted rows.
func TestMasks(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	s := newSplitter(256)
	for i := range s.past {
		for k := range s.past[i].power {
			s.past[i].power[k] = math.Exp2(r.NormFloat64())
			if i == 4 && k/20%2 == 1 {
				s.past[i].power[k] *= 3 + float64(k%7)
			}
		}
	}
	power := s.past[4].power
	last := len(power) - 1
	lasts := func(k int) float64 {
		var row []float64
		for i := range s.past {
			row = append(row, s.past[i].power[min(max(k, 0), last)])
		}
		slices.Sort(row)
		return row[acrossTime/2]
	}
	any, struck := s.mask(power), 0
	for k, got := range s.masks {
		var row []float64
		for i := k - beside; i <= k+beside; i++ {
			at := max(i, -i)
			row = append(row, power[min(at, 2*last-at)])
		}
		slices.Sort(row)
		h := max(lasts(k-1), lasts(k), lasts(k+1))
		want := 0.0
		if power[k] > faint*row[len(row)-1] {
			want = min(max((math.Sqrt(row[beside]/h)-1.5)/1.5, 0), 1)
		}
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("bin %d: a mask of %g, want %g", k, got, want)
		}
		if want > 0 {
			struck++
		}
	}
	if !any || struck < 10 || struck > last-10 {
		t.Errorf("%d of %d bins strike: the test tells nothing", struck, last+1)
	}
}
