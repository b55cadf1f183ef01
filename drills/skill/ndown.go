package skill

import "fmt"

// NDownConfig declares an n-down-1-up staircase.
type NDownConfig struct {
	Start    float64   // level of the first trial
	Min, Max float64   // ends of the ladder, Max easy; above 0 unless Linear
	N        int       // right answers in a row before a step down, from 1
	Steps    []float64 // size of a step after 0, 1, 2 … reversals, the last for good: octaves, or where Linear differences
	DownUp   float64   // step down as a share of the step up; 0: equal
	Linear   bool      // steps are differences of the level, not ratios
}

// NDown makes trials harder after N right answers in a row and easier after
// each wrong one; before the first reversal, harder after each right one. It
// is the baseline that better trackers are held against.
//
// With equal steps it aims at the share right p where p^N = ½: 70.7 % for N 2,
// 79.4 % for N 3. Source: H. Levitt, Transformed up-down methods in
// psychoacoustics, JASA 49 (1971). Fixed steps miss that target; with DownUp
// 0.2845, 0.5488, 0.7393, 0.8415 for N 1 to 4 it comes to rest at 77.85,
// 80.35, 83.15, 85.84 %. Source: M. A. García-Pérez, Forced-choice staircases
// with fixed step sizes, Vision Research 38 (1998), abstract.
type NDown struct {
	cfg    NDownConfig
	ladder ladder
	turns  turns
	streak int // right answers since the last step
}

// NewNDown starts one. It panics where no such staircase can be.
func NewNDown(cfg NDownConfig) *NDown {
	if cfg.N < 1 || len(cfg.Steps) == 0 || !(cfg.DownUp >= 0) {
		panic(fmt.Sprintf("skill: no %d-down-1-up with steps %v", cfg.N, cfg.Steps))
	}
	if cfg.DownUp == 0 {
		cfg.DownUp = 1
	}
	return &NDown{cfg: cfg, ladder: newLadder(cfg.Start, cfg.Min, cfg.Max, cfg.Linear)}
}

// Level is the level of the next trial.
func (s *NDown) Level() float64 { return s.ladder.level }

// Reversals is how often the level has turned so far.
func (s *NDown) Reversals() int { return s.turns.count }

// Update is told of an answer at Level.
func (s *NDown) Update(right bool) {
	if !right {
		s.streak = 0
		s.turns.note(1)
		s.ladder.move(s.step())
		return
	}
	s.streak++
	if s.streak >= s.cfg.N || s.turns.count == 0 && s.turns.way <= 0 {
		s.streak = 0
		s.turns.note(-1)
		s.ladder.move(-s.step() * s.cfg.DownUp)
	}
}

func (s *NDown) step() float64 {
	return s.cfg.Steps[min(s.turns.count, len(s.cfg.Steps)-1)]
}
