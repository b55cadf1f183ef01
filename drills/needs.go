package drills

import (
	"context"
	"time"
)

// Clips gives a session its loops.
type Clips interface {
	// Count is the number of loops. It waits until the material is known whole.
	Count(ctx context.Context) (int, error)
	// Clip is the i-th loop, from 0. The first is there before the material
	// is known whole, and is the same whenever it is asked for.
	Clip(ctx context.Context, i int) (Clip, error)
}

// Store keeps records.
type Store interface {
	// Append keeps one record. When it returns nil the record survives a
	// power cut.
	Append(ctx context.Context, r Record) error
	// Records are all records of a tool, oldest first; all tools where it is "".
	Records(ctx context.Context, tool string) ([]Record, error)
}

// Tracker decides how hard the next trial is. It knows nothing but the
// answers it was told, in order.
type Tracker interface {
	// Level of the next trial, on the tool's ladder.
	Level() float64
	// Update is told of an answer at Level.
	Update(right bool)
}

// Clock is the time now.
type Clock func() time.Time
