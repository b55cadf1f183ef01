package practice

import (
	"math/rand/v2"
	"slices"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// Part is one drill of a sitting.
type Part struct {
	Tool drills.Tool
	Rung drills.Rung
}

// Config is what a sitting is planned from.
type Config struct {
	State     *State
	Parts     []Part // at least one
	Condition drills.Condition
	OnStem    bool // the material has stems
	Trials    int
	Seed      uint64
	Clock     drills.Clock

	// Planner orders the skills; nil: skill.Interleave(0), all of them in
	// balanced rounds, with one confusable pair side by side.
	Planner skill.Planner
}

// Engine plans a sitting: balanced, interleaved rounds over the skills of its
// drills, each as hard as is likely to be right four times in five, with
// trials that only a lapse misses, trials without a change, reviews that are
// not told, and the level moved in some. It learns from every answer.
type Engine struct {
	cfg     Config
	asked   []candidate
	order   []int
	reviews map[int]int // probes still to ask, by candidate
	asking  *candidate  // the open trial
}

// candidate is a skill that a sitting may ask.
type candidate struct {
	part   Part
	region string // "": whichever comes
}

var _ drills.Planner = (*Engine)(nil)

const (
	// reviewTrials open a review: none of them is told. Ours, no source.
	reviewTrials = 6
	// rovedShare of the trials play up to mostRoveDB lower than usual, so that
	// level is no clue from one trial to the next. Ours, no source.
	rovedShare = 0.25
	mostRoveDB = 6.0
)

// NewEngine plans a sitting.
func NewEngine(cfg Config) *Engine {
	if cfg.Planner == nil {
		cfg.Planner = skill.Interleave(0)
	}
	e := &Engine{cfg: cfg, reviews: map[int]int{}}
	var candidates []skill.Candidate
	for _, p := range cfg.Parts {
		e.add(p, &candidates)
	}
	e.pair(candidates)
	e.order = cfg.Planner(rand.New(rand.NewPCG(cfg.Seed, 1)), candidates, cfg.Trials)
	return e
}

// add lays out a drill: the regions met so far, each its own skill, and always
// one that leaves it open, through which new ones are met.
func (e *Engine) add(p Part, candidates *[]skill.Candidate) {
	now := e.cfg.Clock()
	e.asked = append(e.asked, candidate{part: p})
	*candidates = append(*candidates, skill.Candidate{})
	for _, known := range e.cfg.State.regions(e.skillOf(candidate{part: p})) {
		due := known.Due(now)
		if due {
			e.reviews[len(e.asked)] = reviewTrials
		}
		e.asked = append(e.asked, candidate{p, known.Skill.Region})
		*candidates = append(*candidates, skill.Candidate{Practised: known.Trials, Due: due})
	}
}

// pair tells the planner which skills are easily taken for each other: those
// of confusable drills, and regions that were named for each other.
func (e *Engine) pair(candidates []skill.Candidate) {
	for i, a := range e.asked {
		for j := range i {
			if e.confusable(a, e.asked[j]) {
				candidates[j].Confusable = append(candidates[j].Confusable, i)
			}
		}
	}
}

func (e *Engine) confusable(a, b candidate) bool {
	if a.part.Tool.ID != b.part.Tool.ID {
		return slices.Contains(a.part.Tool.Confusable, b.part.Tool.ID) || slices.Contains(b.part.Tool.Confusable, a.part.Tool.ID)
	}
	ka, kb := e.cfg.State.Known(e.skillOf(a)), e.cfg.State.Known(e.skillOf(b))
	return ka != nil && kb != nil && ka.Confused[b.region]+kb.Confused[a.region] > 1
}

func (e *Engine) skillOf(c candidate) Skill {
	condition := e.cfg.Condition
	if c.part.Tool.Fit.Among {
		condition.Heard = drills.InMix
	}
	return Skill{
		Tool: c.part.Tool.ID, Rung: c.part.Rung.ID, Region: c.region, Condition: condition,
		OnStem: e.cfg.OnStem && c.part.Tool.Fit.Stems,
	}
}

// Next is what the trial of that number asks.
func (e *Engine) Next(number int) drills.Asking {
	r := rand.New(rand.NewPCG(e.cfg.Seed, uint64(number)<<8))
	at := e.order[(number-1)%len(e.order)]
	c := e.asked[at]
	e.asking = &c
	t := c.part.Tool
	known := e.known(c)
	a := drills.Asking{
		Tool: t, Rung: c.part.Rung, Condition: e.cfg.Condition, Region: c.region,
		Nothing: r.Float64() < t.NothingShare, Kind: e.kind(at, known), Chance: known.trainer.Predicted(),
		HarderDB: func(l drills.Loop) float64 { return known.offsetDB(l) },
	}
	known.aim(t, &a)
	if r.Float64() < rovedShare {
		a.RoveDB = mostRoveDB * r.Float64()
	}
	return a
}

// known is what is known of a candidate: where it leaves the region open, of
// the drill as a whole.
func (e *Engine) known(c candidate) *Known {
	k := e.skillOf(c)
	if known := e.cfg.State.Known(k); known != nil {
		return known
	}
	return e.cfg.State.unknown(c.part.Tool, k, len(c.part.Rung.Choices))
}

// kind is why the trial is asked.
func (e *Engine) kind(at int, known *Known) drills.Kind {
	switch {
	case e.reviews[at] > 0:
		e.reviews[at]--
		return drills.Probe
	case e.reviewing(at):
		return drills.Probe
	case known.trainer.Catch():
		return drills.Easy
	}
	return drills.Training
}

// reviewing reports whether a candidate leaves the region open while one of
// its drill is still under review: to be told of that region would end it.
func (e *Engine) reviewing(at int) bool {
	if e.asked[at].region != "" {
		return false
	}
	for other, left := range e.reviews {
		if left > 0 && e.asked[other].part.Tool.ID == e.asked[at].part.Tool.ID {
			return true
		}
	}
	return false
}

// aim sets how hard a trial is.
func (k *Known) aim(t drills.Tool, a *drills.Asking) {
	level := k.axis.scale.Level(k.trainer.Level())
	if k.axis.own {
		a.Level = t.Level.At(t.Level.Place(min(max(level, t.Level.Min), t.Level.Max)))
		return
	}
	a.AimDB = level
	a.Level = t.Level.At(placeFor(level))
}

// placeFor is where on a ladder an audibility is looked for first.
func placeFor(audibleDB float64) float64 {
	lo, hi := skill.Scale{Min: 1, Max: typicalAudibleDB(1)}, 1.0
	return min(max(lo.DB(audibleDB)/lo.DB(lo.Max), 0), hi)
}

// offsetDB is how much harder than others a loop is for the listener.
func (k *Known) offsetDB(l drills.Loop) float64 {
	if m := k.loops[keyOf(l)]; m != nil {
		return m.OffsetDB()
	}
	return 0
}

// Told learns from a record.
func (e *Engine) Told(r drills.Record) { e.cfg.State.Learn(r) }

// At is where a listener stands on a drill: a way to answer, and how hard the
// next trial would be.
type At struct {
	Tool  drills.Tool
	Rung  drills.Rung
	Level float64   // about, on the tool's ladder
	Last  time.Time // zero: never
}

// Stand is where a listener stands. rung "" is the hardest that is open.
func (s *State) Stand(t drills.Tool, rung string, c drills.Condition, onStem bool) (At, error) {
	at := At{Tool: t, Rung: s.Rung(t, c, onStem), Last: s.Last(t.ID)}
	if rung != "" {
		r, err := t.Rung(rung)
		if err != nil {
			return at, err
		}
		at.Rung = r
	}
	k := Skill{Tool: t.ID, Rung: at.Rung.ID, Condition: c, OnStem: onStem}
	known := s.known[k]
	if known == nil {
		known = s.unknown(t, k, len(at.Rung.Choices))
	}
	var a drills.Asking
	known.aim(t, &a)
	at.Level = a.Level
	return at, nil
}
