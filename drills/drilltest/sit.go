package drilltest

import (
	"context"
	"math/rand/v2"
	"slices"
	"time"

	"strop/drills"
)

// sit is a session that asks at one level.
func (s *suite) sit(level float64, trials int) *drills.Session {
	session, err := drills.NewSession(drills.Config{
		ID: "check", Trials: trials, Seed: 11, Clips: Loops(s.clips), Store: nowhere{}, Rotate: inTurn,
		Clock:   func() time.Time { return time.Unix(0, 0) },
		Planner: At{s.tool, s.rung, level},
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return session
}

// inTurn plays a loop that was heard no more often than the others.
func inTurn(r *rand.Rand, heard []int) int {
	var least []int
	for i, at := range heard {
		if at == slices.Min(heard) {
			least = append(least, i)
		}
	}
	return least[r.IntN(len(least))]
}

// At is a planner that asks one drill at one level, in the mix.
type At struct {
	Tool  drills.Tool
	Rung  drills.Rung
	Level float64
}

func (a At) Next(int) drills.Asking {
	return drills.Asking{Tool: a.Tool, Rung: a.Rung, Level: a.Level, Condition: drills.Condition{Transducer: "unstated", Heard: drills.InMix}}
}
func (At) Told(drills.Record) {}

// Loops are clips in memory.
type Loops []drills.Clip

func (l Loops) Count(context.Context) (int, error)                 { return len(l), nil }
func (l Loops) Clip(_ context.Context, i int) (drills.Clip, error) { return l[i], nil }

type nowhere struct{}

func (nowhere) Append(context.Context, drills.Record) error              { return nil }
func (nowhere) Records(context.Context, string) ([]drills.Record, error) { return nil, nil }
