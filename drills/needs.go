package drills

import (
	"context"
	"math/rand/v2"
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

// Planner decides what is asked, trial by trial. It depends on nothing but
// what it was made with and what it was told.
type Planner interface {
	// Next is what the trial of that number asks, from 1. It is called once
	// for each.
	Next(number int) Asking
	// Told is told of each record, in order.
	Told(Record)
}

// Asking is what a planner wants of a trial.
type Asking struct {
	Tool      Tool
	Rung      Rung
	Condition Condition
	Region    string  // of the tool's range; "": any
	Level     float64 // on the tool's ladder; where AimDB is set, where the search for it starts
	AimDB     float64 // wanted audibility in dB of excitation; 0: Level as it stands
	Nothing   bool    // nothing is changed, though it is asked
	Kind      Kind
	RoveDB    float64 // how much lower than usual the whole trial plays, 0 or above
	Chance    float64 // predicted chance of a right answer; 0: none was predicted

	// HarderDB is how much harder than others a loop is known to be, in dB of
	// what is aimed at; nil: nothing is known.
	HarderDB func(Loop) float64
}

// Kind is why a trial is asked.
type Kind string

const (
	Training Kind = ""       // to learn
	Easy     Kind = "easy"   // so easy that only a lapse misses it
	First    Kind = "first"  // to get to know something new
	Probe    Kind = "probe"  // to see what was kept: the answer is not told
	Measure  Kind = "tested" // to find the threshold: the answer is not told
)

// Told reports whether the truth is told after the answer.
func (k Kind) Told() bool { return k != Probe && k != Measure }

// Tracker decides how hard the next trial of one skill is. It knows nothing
// but the answers it was told, in order.
type Tracker interface {
	// Level of the next trial, on the tool's ladder.
	Level() float64
	// Update is told of an answer at Level.
	Update(right bool)
}

// Rotation chooses a loop. heard holds for each loop the number of the trial
// that played it last, -1 for never.
type Rotation func(r *rand.Rand, heard []int) int

// Clock is the time now.
type Clock func() time.Time
