package desk

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/skill"
	"strop/drills/tools"
)

// Wish is what a listener asks of a sitting.
type Wish struct {
	Tool      string // the drill's ID; "": the plan of the day
	Rung      string // how to answer; "": the hardest that is open
	Condition drills.Condition
	Trials    int
	Minutes   int // of the plan of the day
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
	Trials int
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

// Plan is what is due today, for so many minutes, on a material with stems or
// without.
func (d *Desk) Plan(ctx context.Context, w Wish, onStem bool) (practice.Plan, error) {
	state, err := d.State(ctx)
	if err != nil {
		return practice.Plan{}, err
	}
	return d.plan(state, w, onStem)
}

func (d *Desk) plan(state *practice.State, w Wish, onStem bool) (practice.Plan, error) {
	return state.Plan(practice.Day{Tools: offered(onStem), Condition: w.Condition, OnStem: onStem, Minutes: w.Minutes, Now: d.Clock()})
}

// offered are the drills that a material without stems can show, or all.
func offered(onStem bool) (fit []drills.Tool) {
	for _, t := range tools.Newcomers() {
		if onStem || t.Fit.Mix {
			fit = append(fit, t)
		}
	}
	return fit
}

// Sit lays out a sitting on a song, from where the records say the listener
// stands: one drill, or those of the plan of the day, interleaved.
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
	standing, parts, err := d.parts(state, &w, onStem)
	if err != nil {
		return nil, err
	}
	session, err := drills.NewSession(drills.Config{
		ID: sessionID(d.Clock, w.Seed), Trials: w.Trials, Seed: w.Seed,
		Planner: practice.NewEngine(practice.Config{
			State: state, Parts: parts,
			Condition: w.Condition, OnStem: onStem, Trials: w.Trials, Seed: w.Seed, Clock: d.Clock,
		}),
		Clips: song, Rotate: skill.Rotate, Store: d.History, Clock: d.Clock,
	})
	return &Sitting{Session: session, Standing: standing, Trials: w.Trials}, err
}

// parts are the drills of a sitting; the standing is on the first of them. A
// plan says how many trials there are.
func (d *Desk) parts(state *practice.State, w *Wish, onStem bool) (standing Standing, parts []practice.Part, err error) {
	if w.Tool != "" {
		standing, err = stand(state, *w, onStem)
		return standing, []practice.Part{{Tool: standing.Tool, Rung: standing.Rung}}, err
	}
	plan, err := d.plan(state, *w, onStem)
	if err != nil {
		return standing, nil, err
	}
	w.Trials = 0
	for _, b := range plan.Blocks {
		w.Trials += b.Trials
		if !slices.ContainsFunc(parts, func(p practice.Part) bool { return p.Tool.ID == b.Tool.ID }) {
			parts = append(parts, practice.Part{Tool: b.Tool, Rung: b.Rung})
		}
	}
	at, err := state.Stand(parts[0].Tool, parts[0].Rung.ID, w.Condition, onStem)
	return Standing{Tool: at.Tool, Rung: at.Rung, Level: at.Level}, parts, err
}

// sessionID names a sitting by when it began and its seed.
func sessionID(clock drills.Clock, seed uint64) string {
	return fmt.Sprintf("%s-%04x", clock().UTC().Format("20060102T150405"), rand.NewPCG(seed, 0).Uint64()>>48)
}
