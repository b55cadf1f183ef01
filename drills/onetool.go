package drills

import "math/rand/v2"

// OneTool plans a sitting on one drill and one way to answer, as hard as a
// tracker says.
type OneTool struct {
	Tool      Tool
	Rung      Rung
	Condition Condition
	Tracker   Tracker
	Seed      uint64 // decides in which trials nothing is changed
}

var _ Planner = (*OneTool)(nil)

// Next asks at the tracker's level. In the tool's share of the trials nothing
// is changed.
func (p *OneTool) Next(number int) Asking {
	r := rand.New(rand.NewPCG(p.Seed, uint64(number)))
	return Asking{
		Tool: p.Tool, Rung: p.Rung, Condition: p.Condition, Level: p.Tracker.Level(),
		Nothing: r.Float64() < p.Tool.NothingShare,
	}
}

// Told moves the tracker.
func (p *OneTool) Told(r Record) {
	if r.Moves() {
		p.Tracker.Update(r.Score.Right)
	}
}
