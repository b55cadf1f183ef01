package tools_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/drilltest"
)

// sitting asks one drill on the materials that suit it, at a place of its
// ladder: 0 the hard end, 1 the easy one.
func sitting(t testing.TB, tool drills.Tool, rung drills.Rung, place float64, trials int, seed uint64) *drills.Session {
	t.Helper()
	var clips drilltest.Loops
	for _, c := range materials(t) {
		if _, err := tool.Fit.Targets(c); err == nil {
			clips = append(clips, c)
		}
	}
	s, err := drills.NewSession(drills.Config{
		ID: "test", Trials: trials, Seed: seed, Clips: clips, Store: nothing{},
		Rotate:  func(r *rand.Rand, heard []int) int { return r.IntN(len(heard)) },
		Clock:   func() time.Time { return time.Unix(0, 0) },
		Planner: drilltest.At{Tool: tool, Rung: rung, Level: tool.Level.At(place)},
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

type nothing struct{}

func (nothing) Append(context.Context, drills.Record) error              { return nil }
func (nothing) Records(context.Context, string) ([]drills.Record, error) { return nil, nil }
