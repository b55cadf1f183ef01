package space

import (
	"math"
	"math/rand/v2"
	"sync"
)

// taps are single early reflections before a tail, one at a random place in each
// of count equal slots: they have the energy that the tail would have
// there had it begun at once, so that the decay is straight from the start.
func (t *tail) taps(seed uint64, count int) []float64 {
	r := rand.New(rand.NewPCG(seed, 0xea7))
	slot := (t.startS[4] + t.riseS) / float64(count)
	h := make([]float64, 1+int((t.startS[4]+t.riseS)*t.rateHz))
	for i := range count {
		at := slot * (float64(i) + r.Float64())
		ratio := math.Sqrt(t.missing(slot*float64(i), slot))
		if r.IntN(2) == 0 {
			ratio = -ratio
		}
		h[int(at*t.rateHz)] += ratio
	}
	return h
}

// missing is the energy that the rising tail lacks from fromS on, in forS.
func (t *tail) missing(fromS, forS float64) float64 {
	sum, n := 0.0, max(1, int(forS*t.rateHz))
	for i := range n {
		at := fromS + float64(i)/t.rateHz
		rise := math.Sin(math.Pi / 2 * unit((at-t.startS[4])/t.riseS))
		sum += (1 - rise*rise) * math.Pow(10, -6*at/t.decaysS[4])
	}
	return sum * t.levels[4] * t.levels[4]
}

// evenly is the same value in all bands.
func evenly(v float64) (all [Bands]float64) {
	for i := range all {
		all[i] = v
	}
	return all
}

// fourPaths makes the four paths of true stereo, each from a seed of its own
// and all at once.
func fourPaths(s uint64, path func(in, out int, seed uint64) []float64) *Response {
	var r Response
	var all sync.WaitGroup
	for in := range r {
		for out := range r[in] {
			all.Go(func() { r[in][out] = path(in, out, 4*s+uint64(2*in+out)) })
		}
	}
	all.Wait()
	return &r
}
