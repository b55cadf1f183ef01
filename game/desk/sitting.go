package desk

import (
	"context"
	"fmt"
	"math/rand/v2"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/skill"
	"strop/drills/tools"
)

// Wish is what a listener asks of a sitting.
type Wish struct {
	Tool      string // the drill's ID
	Rung      string // how to answer; "": the hardest that is open
	Condition drills.Condition
	Trials    int
	Seed      uint64
}

// Standing is where a listener stands: a way to answer, and about how hard the
// next trial is on it.
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

// State is what the records tell of the listener.
func (d *Desk) State(ctx context.Context) (*practice.State, error) {
	return practice.Load(ctx, d.History, tools.All())
}

// Stand is where the records say that the listener stands.
func (d *Desk) Stand(ctx context.Context, w Wish) (Standing, error) {
	state, err := d.State(ctx)
	if err != nil {
		return Standing{}, err
	}
	return stand(state, w, state.UsesStems(w.Tool))
}

func stand(state *practice.State, w Wish, onStem bool) (Standing, error) {
	tool, err := tools.Find(w.Tool)
	if err != nil {
		return Standing{}, err
	}
	at, err := state.Stand(tool, w.Rung, w.Condition, onStem)
	return Standing{Tool: tool, Rung: at.Rung, Level: at.Level}, err
}

// Sit lays out a sitting on a song, from where the records say the listener
// stands.
func (d *Desk) Sit(ctx context.Context, song drills.Clips, w Wish) (*Sitting, error) {
	state, err := d.State(ctx)
	if err != nil {
		return nil, err
	}
	first, err := song.Clip(ctx, 0)
	if err != nil {
		return nil, err
	}
	onStem := len(first.Stems) > 0
	standing, err := stand(state, w, onStem)
	if err != nil {
		return nil, err
	}
	session, err := drills.NewSession(drills.Config{
		ID: sessionID(d.Clock, w.Seed), Trials: w.Trials, Seed: w.Seed,
		Planner: practice.NewEngine(practice.Config{
			State: state, Parts: []practice.Part{{Tool: standing.Tool, Rung: standing.Rung}},
			Condition: w.Condition, OnStem: onStem, Trials: w.Trials, Seed: w.Seed, Clock: d.Clock,
		}),
		Clips: song, Rotate: skill.Rotate, Store: d.History, Clock: d.Clock,
	})
	return &Sitting{Session: session, Standing: standing}, err
}

// sessionID names a sitting by when it began and its seed.
func sessionID(clock drills.Clock, seed uint64) string {
	return fmt.Sprintf("%s-%04x", clock().UTC().Format("20060102T150405"), rand.NewPCG(seed, 0).Uint64()>>48)
}
