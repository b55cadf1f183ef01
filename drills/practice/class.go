package practice

import (
	"maps"
	"runtime"
	"slices"
	"sync"

	"strop/drills"
)

// class learns from many records on all processors: skills of different drills
// know nothing of each other, so that each drill has a pupil who learns from
// its records in order, while the next are being read. What comes of it is
// what one would have learned alone.
type class struct {
	pupils  []*pupil
	by      map[string]*pupil // by drill
	working sync.WaitGroup
	records int
}

// pupil is a state of some of the drills.
type pupil struct {
	*State
	in    chan []lesson
	batch []lesson
}

// lesson is a record and its place in the order, from 1.
type lesson struct {
	place  int
	record drills.Record
}

const (
	mostPupils = 8
	batchOf    = 256 // lessons handed over at once
)

// newClass goes on from a state, which is the class's from then on.
func newClass(s *State) *class {
	c := &class{records: s.records, by: map[string]*pupil{}}
	for range min(runtime.GOMAXPROCS(0), mostPupils) {
		p := &pupil{NewState(s.find), make(chan []lesson, 4), nil}
		p.grids = maps.Clone(s.grids)
		c.pupils = append(c.pupils, p)
	}
	for _, k := range s.order {
		p := c.of(k.Tool)
		p.known[k], p.order = s.known[k], append(p.order, k)
	}
	for _, p := range c.pupils {
		c.working.Go(p.work)
	}
	return c
}

// of is the pupil of a drill, by turns as they come.
func (c *class) of(tool string) *pupil {
	p := c.by[tool]
	if p == nil {
		p = c.pupils[len(c.by)%len(c.pupils)]
		c.by[tool] = p
	}
	return p
}

func (c *class) learn(r drills.Record) {
	c.records++
	p := c.of(r.Trial.Tool)
	p.batch = append(p.batch, lesson{c.records, r})
	if len(p.batch) == batchOf {
		p.hand()
	}
}

func (p *pupil) hand() {
	p.in <- p.batch
	p.batch = make([]lesson, 0, batchOf)
}

func (p *pupil) work() {
	for batch := range p.in {
		for _, l := range batch {
			p.records = l.place - 1
			p.Learn(l.record)
		}
	}
}

// together waits for all, and is the state of all, in the order in which
// skills were met.
func (c *class) together() *State {
	for _, p := range c.pupils {
		p.hand()
		close(p.in)
	}
	c.working.Wait()
	s := NewState(c.pupils[0].find)
	s.records = c.records
	for _, p := range c.pupils {
		maps.Copy(s.known, p.known)
		maps.Copy(s.grids, p.grids)
		maps.Copy(s.tools, p.tools)
		s.order = append(s.order, p.order...)
	}
	slices.SortStableFunc(s.order, func(a, b Skill) int { return s.known[a].met - s.known[b].met })
	return s
}
