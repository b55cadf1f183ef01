package tools_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"strop/drills"
	"strop/drills/drilltest"
)

// sitting asks one drill on the materials, at a place of its ladder: 0 the hard
// end, 1 the easy one.
func sitting(t testing.TB, tool drills.Tool, rung drills.Rung, place float64, trials int, seed uint64) *drills.Session {
	t.Helper()
	return sitOn(t, materials(t), drilltest.At{Tool: tool, Rung: rung, Level: tool.Level.At(place)}, trials, seed)
}

// sitOn is a sitting on those of some clips that suit a drill.
func sitOn(t testing.TB, on []drills.Clip, at drilltest.At, trials int, seed uint64) *drills.Session {
	t.Helper()
	var clips drilltest.Loops
	for _, c := range on {
		if _, err := at.Tool.Fit.Targets(c); err == nil {
			clips = append(clips, c)
		}
	}
	s, err := drills.NewSession(drills.Config{
		ID: "test", Trials: trials, Seed: seed, Clips: clips, Store: nothing{}, Planner: at,
		Rotate: func(r *rand.Rand, heard []int) int { return r.IntN(len(heard)) },
		Clock:  func() time.Time { return time.Unix(0, 0) },
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

type nothing struct{}

func (nothing) Append(context.Context, drills.Record) error              { return nil }
func (nothing) Records(context.Context, string) ([]drills.Record, error) { return nil, nil }
