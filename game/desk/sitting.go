package desk

import (
	"context"
	"fmt"
	"math/rand/v2"

	"strop/drills"
	"strop/drills/skill"
	"strop/drills/tools"
	"strop/dsp"
)

// Wish is what a listener asks of a sitting.
type Wish struct {
	Tool      string // the drill's ID
	Rung      string // how to answer; "": the hardest that is open
	Condition drills.Condition
	Trials    int
	Seed      uint64
}

// How often the listener is right once the staircase has come to rest: within
// a few per cent of the best rate of learning. Source: Wilson et al., The
// Eighty Five Percent Rule for optimal learning, Nature Communications 10
// (2019), for two choices; that more choices want less is our reading.
const (
	targetOfTwo = 0.85
	targetShare = 0.75
)

// Standing is where a listener stands: a way to answer, and the level of the
// next trial on it.
type Standing struct {
	Tool  drills.Tool
	Rung  drills.Rung
	Level float64
}

// Sitting is a session laid out, and where in the drill it starts.
type Sitting struct {
	*drills.Session
	Standing
}

// Stand is where the records say that the listener stands.
func (d *Desk) Stand(ctx context.Context, w Wish) (Standing, error) {
	s, _, err := d.stand(ctx, w)
	return s, err
}

func (d *Desk) stand(ctx context.Context, w Wish) (s Standing, tracker drills.Tracker, err error) {
	if s.Tool, err = tools.Find(w.Tool); err != nil {
		return s, nil, err
	}
	records, err := d.History.Records(ctx, s.Tool.ID)
	if err != nil {
		return s, nil, err
	}
	s.Rung, tracker = drills.Climb(s.Tool, records, w.Condition, newTracker(s.Tool))
	if w.Rung != "" {
		if s.Rung, err = s.Tool.Rung(w.Rung); err != nil {
			return s, nil, err
		}
		tracker = drills.Replay(s.Tool, s.Rung, records, w.Condition, newTracker(s.Tool))
	}
	s.Level = tracker.Level()
	return s, tracker, nil
}

// Sit lays out a sitting on a song, from where the records say the listener
// stands.
func (d *Desk) Sit(ctx context.Context, song drills.Clips, w Wish) (*Sitting, error) {
	standing, tracker, err := d.stand(ctx, w)
	if err != nil {
		return nil, err
	}
	session, err := drills.NewSession(drills.Config{
		ID: sessionID(d.Clock, w.Seed), Trials: w.Trials, Seed: w.Seed,
		Planner: &drills.OneTool{Tool: standing.Tool, Rung: standing.Rung, Condition: w.Condition, Tracker: tracker, Seed: w.Seed},
		Clips:   song, Rotate: skill.Rotate, Store: d.History, Clock: d.Clock,
	})
	return &Sitting{Session: session, Standing: standing}, err
}

// newTracker makes fresh trackers for a tool's ladder.
func newTracker(t drills.Tool) func(drills.Rung) drills.Tracker {
	return func(rung drills.Rung) drills.Tracker {
		target := targetShare
		if len(rung.Choices) == 2 && t.NothingShare == 0 || len(rung.Choices) == 1 {
			target = targetOfTwo
		}
		return skill.NewUpDown(skill.UpDownConfig{
			Start: t.Level.Neutral, Min: t.Level.Min, Max: t.Level.Max, Target: target, Linear: t.Level.Scale != dsp.Log,
		})
	}
}

// sessionID names a sitting by when it began and its seed.
func sessionID(clock drills.Clock, seed uint64) string {
	return fmt.Sprintf("%s-%04x", clock().UTC().Format("20060102T150405"), rand.NewPCG(seed, 0).Uint64()>>48)
}
