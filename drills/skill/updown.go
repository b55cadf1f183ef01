package skill

import "fmt"

// UpDownConfig declares a weighted up-down.
type UpDownConfig struct {
	Start    float64 // level of the first trial
	Min, Max float64 // ends of the ladder, Max easy; above 0 unless Linear
	Target   float64 // share right at which it comes to rest, above 0 and below 1
	StepDown float64 // after a right answer: octaves of the level, or where Linear a difference; 0: a 32nd of the ladder
	Linear   bool    // steps are differences of the level, not ratios
}

// UpDown makes trials harder after each right answer and easier after each
// wrong one, by steps whose ratio brings the share of right answers to a
// target p:
//
//	step up / step down = p/(1−p)
//
// Steps are four times as large before the first reversal and twice before
// the second, common practice, no source. The level never leaves the ladder,
// so a listener who is better than the floor stays there and is right more
// often than the target.
//
// Source: C. Kaernbach, Simple adaptive testing with the weighted up-down
// method, Perception & Psychophysics 49 (1991).
type UpDown struct {
	ladder   ladder
	turns    turns
	down, up float64
}

// NewUpDown starts one. It panics where no such ladder or target can be: that
// is a mistake in a declaration, not in data.
func NewUpDown(cfg UpDownConfig) *UpDown {
	if !(cfg.Target > 0 && cfg.Target < 1) || !(cfg.StepDown >= 0) {
		panic(fmt.Sprintf("skill: no up-down with target %g and step %g", cfg.Target, cfg.StepDown))
	}
	l := newLadder(cfg.Start, cfg.Min, cfg.Max, cfg.Linear)
	down := cfg.StepDown
	if down == 0 {
		down = l.height() / 32
	}
	return &UpDown{ladder: l, down: down, up: down * UpPerDown(cfg.Target)}
}

// UpPerDown is the ratio of the step up to the step down that comes to rest
// at a share target of right answers.
func UpPerDown(target float64) float64 { return target / (1 - target) }

// Level is the level of the next trial.
func (u *UpDown) Level() float64 { return u.ladder.level }

// Reversals is how often the level has turned so far.
func (u *UpDown) Reversals() int { return u.turns.count }

// Update is told of an answer at Level.
func (u *UpDown) Update(right bool) {
	way, step := 1, u.up
	if right {
		way, step = -1, -u.down
	}
	u.turns.note(way)
	u.ladder.move(step * float64(int(4)>>min(u.turns.count, 2)))
}
