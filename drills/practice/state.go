package practice

import (
	"iter"
	"slices"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// State is what is known of a listener. It is made by Learn from records, in
// the order in which they were kept, and from nothing else.
type State struct {
	find    func(id string) (drills.Tool, error)
	tools   map[string]*drills.Tool // by ID; nil for what this program does not know
	known   map[Skill]*Known
	order   []Skill // as they were met
	grids   grids
	records int

	settle func() // waits until all lessons given so far are learned; nil: they are
}

// NewState knows nothing. find gives the drill of an ID.
func NewState(find func(id string) (drills.Tool, error)) *State {
	return &State{find: find, tools: map[string]*drills.Tool{}, known: map[Skill]*Known{}, grids: grids{}}
}

// Replay is the state after all records. It ends at the first error of
// theirs.
func Replay(records iter.Seq2[drills.Record, error], find func(id string) (drills.Tool, error)) (*State, error) {
	s := NewState(find)
	for r, err := range records {
		if err != nil {
			return nil, err
		}
		s.Learn(r)
	}
	return s, nil
}

// Learn takes one more record. Those of drills that this program does not
// know are kept by the store and left out here.
func (s *State) Learn(r drills.Record) {
	if l, known := s.lesson(r); known {
		l.learn()
	}
}

// lesson is what a record teaches, and of which skills: its region, and its
// drill as a whole.
type lesson struct {
	tool          *drills.Tool
	region, whole *Known
	record        drills.Record
}

func (l *lesson) learn() {
	l.region.learn(l.tool, &l.record)
	if l.whole != l.region { // a setting that lies nowhere
		l.whole.learn(l.tool, &l.record)
	}
}

// lesson counts a record, and is what it teaches; false for nothing.
func (s *State) lesson(r drills.Record) (_ lesson, known bool) {
	s.records++
	t := s.tool(r.Trial.Tool)
	if t == nil || len(r.Trial.Truth) == 0 {
		return lesson{}, false
	}
	k, choices := Of(*t, r.Trial), choicesOf(*t, r.Trial)
	whole := s.of(*t, k.anywhere(), choices)
	return lesson{t, s.of(*t, k, choices), whole, r}, true
}

// choicesOf is how many answers a trial offered.
func choicesOf(t drills.Tool, trial drills.Trial) int {
	if trial.Choices > 0 {
		return trial.Choices
	}
	rung, _ := t.Rung(trial.Rung) // one that is not known any more has none
	return len(rung.Choices)
}

// Records is how many were learned from.
func (s *State) Records() int { return s.records }

// tool is the drill of an ID, nil where there is none.
func (s *State) tool(id string) *drills.Tool {
	t, met := s.tools[id]
	if !met {
		if found, err := s.find(id); err == nil {
			t = &found
		}
		s.tools[id] = t
	}
	return t
}

// of is what is known of a skill; where that is nothing, what the drill as a
// whole suggests.
func (s *State) of(t drills.Tool, k Skill, choices int) *Known {
	if known := s.known[k]; known != nil {
		return known
	}
	if s.settle != nil {
		s.settle()
	}
	known := s.unknown(t, k, choices)
	s.known[k] = known
	s.order = append(s.order, k)
	return known
}

// unknown is a skill that was never practised: its threshold is thought to lie
// where that of the whole drill does or, where that is new too, a way under
// where a newcomer starts.
func (s *State) unknown(t drills.Tool, k Skill, choices int) *Known {
	guessDB, fresh := axisOf(t).startDB(t)-underStart, skill.DefaultFresh
	if whole := s.known[k.anywhere()]; whole != nil && whole.Trials >= skill.DefaultFresh {
		guessDB, fresh = whole.ThresholdDB().Mean(), freshRegion
	}
	return unknown(k, t, t.Chance(choices), guessDB, fresh, s.grids)
}

// freshRegion is over how many trials a new region of a drill that is known
// goes from easy to hard. Ours, no source.
const freshRegion = 3

// Skills are all that were practised, in the order in which they were met.
func (s *State) Skills() []Skill { return slices.Clone(s.order) }

// Known is what is known of a skill; nil where it was never practised.
func (s *State) Known(k Skill) *Known { return s.known[k] }

// regions are the skills of a drill and a way to answer, one for each region
// met so far, least practised first.
func (s *State) regions(k Skill) (found []*Known) {
	for _, other := range s.order {
		if other.anywhere() == k.anywhere() && other.Region != "" {
			found = append(found, s.known[other])
		}
	}
	slices.SortStableFunc(found, func(a, b *Known) int { return a.Trials - b.Trials })
	return found
}

// openTrials and openingPlace are what opens the next way to answer: so many
// answers, and thresholds in the lower third of what is practised over.
const (
	openTrials   = 20
	openingPlace = 1.0 / 3
)

// Rung is the hardest way to answer that is open to the listener.
func (s *State) Rung(t drills.Tool, c drills.Condition, onStem bool) drills.Rung {
	for i, r := range t.Rungs {
		if i == len(t.Rungs)-1 || !s.opened(t, Skill{Tool: t.ID, Rung: r.ID, Condition: c, OnStem: onStem}) {
			return r
		}
	}
	panic("practice: a drill without a way to answer passed Validate")
}

func (s *State) opened(t drills.Tool, k Skill) bool {
	trials, sum, n := 0, 0.0, 0.0
	for _, known := range s.regions(k) {
		trials += known.Trials
		sum += known.ThresholdDB().Mean()
		n++
	}
	scale := axisOf(t).scale
	return trials >= openTrials && sum/n <= openingPlace*scale.DB(scale.Max)
}

// UsesStems reports whether a drill was practised on stems last.
func (s *State) UsesStems(tool string) (stems bool) {
	last := time.Time{}
	for _, k := range s.order {
		if known := s.known[k]; k.Tool == tool && !known.Last.Before(last) {
			stems, last = k.OnStem, known.Last
		}
	}
	return stems
}

// Last is when a drill was last practised; the zero time for never.
func (s *State) Last(tool string) (last time.Time) {
	for _, k := range s.order {
		if known := s.known[k]; k.Tool == tool && known.Last.After(last) {
			last = known.Last
		}
	}
	return last
}

// loopKey is a loop of a material, whatever its length.
type loopKey struct {
	Material   string
	StartFrame int
}

func keyOf(l drills.Loop) loopKey { return loopKey{l.Material, l.StartFrame} }
