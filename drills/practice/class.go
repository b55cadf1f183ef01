package practice

import (
	"runtime"
	"sync"

	"strop/drills"
)

// class learns from many records on all processors: skills of different drills
// know nothing of each other, so that each drill has a pupil who learns from
// its records in order, while the next are being read. Where a new skill is
// met, all learn first what they were given, because where its threshold is
// looked for comes from its drill. What comes of it is what one would have
// learned alone.
type class struct {
	*State
	pupils []*pupil
	by     map[*drills.Tool]*pupil
	given  sync.WaitGroup // batches not learned yet
}

// pupil learns the skills of some of the drills.
type pupil struct {
	in    chan []lesson
	batch []lesson      // being filled
	done  chan []lesson // to be filled again
}

const (
	mostPupils = 8
	batchOf    = 256 // lessons handed over at once
	batchesOf  = 4   // a pupil, beside the one being filled
)

// newClass goes on from a state, which must be left alone until over.
func newClass(s *State) *class {
	c := &class{State: s, by: map[*drills.Tool]*pupil{}}
	s.settle = c.wait
	for range min(runtime.GOMAXPROCS(0), mostPupils) {
		p := &pupil{in: make(chan []lesson, batchesOf), done: make(chan []lesson, batchesOf)}
		for range batchesOf {
			p.done <- make([]lesson, 0, batchOf)
		}
		c.pupils = append(c.pupils, p)
		go c.teach(p)
	}
	return c
}

func (c *class) teach(p *pupil) {
	for batch := range p.in {
		for i := range batch {
			batch[i].learn()
		}
		p.done <- batch[:0]
		c.given.Done()
	}
}

// pupil is that of a drill, by turns as they come.
func (c *class) pupil(tool *drills.Tool) *pupil {
	p := c.by[tool]
	if p == nil {
		p = c.pupils[len(c.by)%len(c.pupils)]
		c.by[tool] = p
	}
	return p
}

func (c *class) learn(r drills.Record) {
	l, known := c.lesson(r)
	if !known {
		return
	}
	p := c.pupil(l.tool)
	p.batch = append(p.batch, l)
	if len(p.batch) == batchOf {
		c.hand(p)
	}
}

func (c *class) hand(p *pupil) {
	c.given.Add(1)
	p.in <- p.batch
	p.batch = <-p.done
}

// wait returns when all lessons so far are learned.
func (c *class) wait() {
	for _, p := range c.pupils {
		c.hand(p)
	}
	c.given.Wait()
}

// over waits for the last and lets the pupils go.
func (c *class) over() {
	c.wait()
	for _, p := range c.pupils {
		close(p.in)
	}
	c.settle = nil
}
