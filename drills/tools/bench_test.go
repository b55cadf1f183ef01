package tools_test

import (
	"testing"

	"strop/drills"
	"strop/drills/drilltest"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

// fifteen is a loop of 8 s and 15 stems, made of the first material.
func fifteen(b *testing.B) drills.Clip {
	c := materials(b)[0]
	n := int(8 * c.Loop.RateHz)
	had := c.Stems
	c.Loop.Frames, c.Frames, c.Stems = n, make([]dsp.Frame, n), nil
	for i := range 15 {
		stem := had[i%len(had)]
		if stem.Pair > 15 {
			stem.Pair = 0
		}
		short, err := stem.Load()
		if err != nil {
			b.Fatal(err)
		}
		long := make([]dsp.Frame, n)
		for k := range long {
			long[k] = short[k%len(short)]
			c.Frames[k][0] += long[k][0]
			c.Frames[k][1] += long[k][1]
		}
		stem.Load = func() ([]dsp.Frame, error) { return long, nil }
		c.Stems = append(c.Stems, stem)
	}
	c.Facts = measure.FactsOf(c.Frames, c.Loop.RateHz)
	return c
}

// BenchmarkTrial is what a listener waits for a trial of each drill after the
// first, on a loop of 8 s and 15 stems, from the middle of the ladder and the
// last way to answer. A drill that such a loop cannot show is left out.
func BenchmarkTrial(b *testing.B) {
	c := fifteen(b)
	for _, tool := range tools.All() {
		if _, err := tool.Fit.Targets(c); err != nil {
			continue
		}
		b.Run(tool.ID, func(b *testing.B) {
			rung := tool.Rungs[len(tool.Rungs)-1]
			s := sitOn(b, []drills.Clip{c}, drilltest.At{Tool: tool, Rung: rung, Level: tool.Level.At(0.5)}, 1<<20, 3)
			if !trial(b, s) {
				b.SkipNow()
			}
			n := 0
			for b.Loop() {
				if trial(b, s) {
					n++
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1000/float64(max(n, 1)), "ms/trial")
		})
	}
}

// trial makes one trial, and answers it while the clock stands still; false
// where the loop cannot show it.
func trial(b *testing.B, s *drills.Session) bool {
	r, err := s.Next(b.Context())
	if err != nil {
		return false
	}
	b.StopTimer()
	defer b.StartTimer()
	if _, err := s.Answer(b.Context(), drills.Given{Guess: r.Trial.Truth}); err != nil {
		b.Fatal(err)
	}
	return true
}
