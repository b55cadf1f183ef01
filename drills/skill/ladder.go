// Package skill is the arithmetic of practice: how hard the next trial is,
// and how sure one can be of a result. It knows no sound, no clock and no
// store.
package skill

import (
	"fmt"
	"math"
)

// ladder is a level between a floor and a ceiling, and the step it takes.
type ladder struct {
	level, min, max float64
	linear          bool // steps are differences; otherwise octaves, that is doublings
}

func newLadder(start, lo, hi float64, linear bool) ladder {
	if !(lo < hi && start >= lo && start <= hi) || !linear && lo <= 0 {
		panic(fmt.Sprintf("skill: no ladder from %g to %g that starts at %g", lo, hi, start))
	}
	return ladder{start, lo, hi, linear}
}

// height of the ladder in steps of size 1.
func (l *ladder) height() float64 {
	if l.linear {
		return l.max - l.min
	}
	return math.Log2(l.max / l.min)
}

// move takes a step, up where it is positive, and stops at the ends.
func (l *ladder) move(by float64) {
	if l.linear {
		l.level += by
	} else {
		l.level *= math.Exp2(by)
	}
	l.level = min(max(l.level, l.min), l.max)
}

// turns counts reversals: answers that turn the way the level moves.
type turns struct {
	count int
	way   int // of the last move: 1 up, -1 down, 0 none yet
}

// note is told of a move and reports whether it turned.
func (t *turns) note(way int) bool {
	turned := t.way != 0 && t.way != way
	if turned {
		t.count++
	}
	t.way = way
	return turned
}
