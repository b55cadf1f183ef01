package intake

import (
	"math"
	"slices"

	"strop/dsp"
)

// sketch is a stem boiled down to a number each tenth of a second: the sum of
// its samples with random signs, the same ones for every stem. Two sketches
// correlate as their stems do, to within 1/√length.
//
// Source: D. Achlioptas, Database-friendly random projections, J. Computer and
// System Sciences 66 (2003) (from memory).
type sketch struct {
	sums  []float64
	n     int
	state uint64
}

const sketchSeed = 0x9e3779b97f4a7c15

func (s *sketch) add(frames []dsp.Frame, rateHz float64) {
	every := max(1, int(rateHz/10))
	for _, f := range frames {
		if s.n%every == 0 {
			s.sums = append(s.sums, 0)
		}
		s.n++
		bits := s.next()
		s.sums[len(s.sums)-1] += signed(f[0], bits) + signed(f[1], bits<<1)
	}
}

// next are 64 random bits: SplitMix64.
// Source: G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom
// number generators, OOPSLA (2014) (from memory).
func (s *sketch) next() uint64 {
	s.state += sketchSeed
	z := s.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// signed is x, negated if the highest bit is set.
func signed(x float64, bits uint64) float64 {
	return math.Float64frombits(math.Float64bits(x) ^ bits&(1<<63))
}

// Alike is two stems that hold the same.
type Alike struct {
	First    string  `json:"first"`
	Other    string  `json:"other"`
	Exact    bool    `json:"exact"`  // to the bit
	GainDB   float64 `json:"gainDB"` // of the other over the first
	Inverted bool    `json:"inverted"`
}

// alikeLeast is the correlation of two sketches from which on their stems are
// told to be alike: our own choice.
const alikeLeast = 0.995

// alike are the stems that hold the same as an earlier one.
func (c *check) alike() []Alike {
	all := []Alike{}
	for i, f := range c.found {
		for _, before := range c.found[:i] {
			if a, ok := before.compare(f); ok {
				all = append(all, a)
				break
			}
		}
	}
	return all
}

func (f *finding) compare(other *finding) (Alike, bool) {
	x, y := f.sketch.sums, other.sketch.sums
	if f.RateHz != other.RateHz || len(x) == 0 || len(y) == 0 || f.EmptyPct >= 100 || other.EmptyPct >= 100 {
		return Alike{}, false
	}
	a := Alike{First: f.Name, Other: other.Name, Exact: f.frames == other.frames && slices.Equal(x, y)}
	xx, yy, xy := 0.0, 0.0, 0.0
	for i := range max(len(x), len(y)) {
		p, q := sumAt(x, i), sumAt(y, i)
		xx, yy, xy = xx+p*p, yy+q*q, xy+p*q
	}
	a.GainDB, a.Inverted = dsp.PowerToDB(yy/xx), xy < 0
	return a, a.Exact || math.Abs(xy) >= alikeLeast*math.Sqrt(xx*yy)
}

// sumAt is 0 after the end.
func sumAt(sums []float64, i int) float64 {
	if i < len(sums) {
		return sums[i]
	}
	return 0
}
