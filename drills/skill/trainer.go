package skill

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// TrainerConfig declares a Trainer.
type TrainerConfig struct {
	Posterior *Posterior // what is known beforehand; the trainer's own from then on
	Rand      *rand.Rand
	Target    float64 // share right to hold, above chance and below 1
	JitterDB  float64 // each level is moved by up to this much, up or down
	Fresh     int     // trials over which a new skill goes from Easy to Target; 0: not new
	Catch     float64 // share of trials that are so easy that a miss is a lapse
	Drift     float64 // chance of a threshold step up, and of one down, between trials
}

// Defaults of a Trainer, and where they come from.
const (
	// TwoChoiceTarget is a little under the share right that taught fastest a
	// two-choice learner by gradient, Φ(1) = 84.13 %: some misses are lapses,
	// which the share counts and the theory does not, and where many are, 84 %
	// is held by trials that are too easy. Anything from 79 to 89 % is within
	// a twentieth of the best. Source: R. C. Wilson, A. Shenhav, M. Straccia &
	// J. D. Cohen, The Eighty Five Percent Rule for optimal learning, Nature
	// Communications 10 (2019). Shown for models and monkeys, not for
	// engineers.
	TwoChoiceTarget = 0.83
	// ManyChoiceTarget is lower, as the same d′ gets less right of many, but
	// not as low: few go on with half their answers wrong. Ours, no source.
	ManyChoiceTarget = 0.775

	DefaultJitterDB = 0.5  // so that levels cannot be foretold; ours: 1 and 2 dB cost more in simulation
	DefaultFresh    = 15   // trials from easy to hard; ours, after Church et al. 2013
	DefaultDrift    = 0.03 // of the mass to each neighbour; ours: less lags behind who learns, more blurs who does not
	DefaultCatch    = 0.02 // of the trials; ours: 4 % cost half of what the posterior gained, 9 % all of it
	Easy            = 0.95 // predicted share right of an easy trial
	Easiest         = 0.98 // of a catch trial

	// nudgeDB is how far an ordinary trial moves the aim of the next, times
	// target less outcome; mostNudgeDB is as far as that may go.
	nudgeDB, mostNudgeDB = 0.3, 4.0
)

// Trainer serves trials at a predicted share right, by a posterior over
// threshold, slope and lapse that allows for the listener to change. Where
// what happens differs from what is predicted, as it does while the listener
// learns faster than the posterior believes, a small weighted up-down on top
// brings the share right to its target. Easy trials come at the start of a new
// skill, after three misses in five answers, and as catch trials.
type Trainer struct {
	cfg      TrainerConfig
	want     float64 // share right of the next trial; 0: a catch trial
	jitterDB float64 // of the next trial
	next     int     // index of its level; unplaced until somebody asks
	trials   int
	offDB    float64
	recent   uint // the last answers, a 1 for each miss
	draws    int  // taken from the random source
}

// unplaced is a level that nobody has asked for: to find one takes as long as
// to learn from an answer, and a replay asks for the last only.
const unplaced = -1

// asAsked is how far the share right predicted of what was presented may be
// from that of what was asked for. Ours, no source.
const asAsked = 0.05

// NewTrainer starts one. It panics where no such trainer can be.
func NewTrainer(cfg TrainerConfig) *Trainer {
	if cfg.Posterior == nil || cfg.Rand == nil || !(cfg.Target > 0 && cfg.Target < 1) || !(cfg.Drift >= 0 && cfg.Drift <= 0.5) {
		panic(fmt.Sprintf("skill: no trainer with target %g, drift %g, posterior %t, random source %t",
			cfg.Target, cfg.Drift, cfg.Posterior != nil, cfg.Rand != nil))
	}
	t := &Trainer{cfg: cfg}
	t.choose()
	return t
}

// Posterior is what is known of the listener; Rest ages it between sittings.
func (t *Trainer) Posterior() *Posterior { return t.cfg.Posterior }

// Level is the level of the next trial.
func (t *Trainer) Level() float64 { return t.cfg.Posterior.grid.axes.Level[t.place()] }

// Predicted is the share right predicted for the next trial.
func (t *Trainer) Predicted() float64 { return t.cfg.Posterior.Predict(t.place()) }

// Catch reports whether the next trial is one that only a lapse misses.
func (t *Trainer) Catch() bool { return t.want == 0 }

// Update is told of an answer at Level.
func (t *Trainer) Update(right bool) {
	level := t.place()
	t.learn(level, right)
	t.nudge(right)
	t.choose()
}

// UpdateAt is told of an answer at another level, taken to the nearest that
// can be presented. asked is what was Predicted when the trial was asked for:
// where what was presented is about as easy, the answer moves the aim.
func (t *Trainer) UpdateAt(level, asked float64, right bool) {
	predicted := t.learn(t.cfg.Posterior.grid.Nearest(level), right)
	if math.Abs(predicted-asked) <= asAsked {
		t.nudge(right)
	}
	t.choose()
}

// learn returns the share right that was predicted at a level.
func (t *Trainer) learn(level int, right bool) (predicted float64) {
	predicted = t.cfg.Posterior.Follow(level, right, t.cfg.Drift)
	t.trials++
	t.recent = t.recent << 1 & 0b11111
	if !right {
		t.recent |= 1
	}
	return predicted
}

// nudge moves the aim by an answer to an ordinary trial.
func (t *Trainer) nudge(right bool) {
	if t.want == t.cfg.Target {
		t.offDB += nudgeDB * (t.cfg.Target - indicator(right))
		t.offDB = min(max(t.offDB, -mostNudgeDB), mostNudgeDB)
	}
}

// Rest ages what is known by days without practice and chooses anew.
func (t *Trainer) Rest(f Forgetting, days float64) {
	t.cfg.Posterior.Rest(f, days)
	t.choose()
}

// choose says what is wanted of the next trial. It draws two numbers always, so
// that a seed gives the same trials whatever the answers.
func (t *Trainer) choose() {
	catch, jitter := t.cfg.Rand.Float64() < t.cfg.Catch, 2*t.cfg.Rand.Float64()-1
	t.draws += 2
	t.next, t.want, t.jitterDB = unplaced, 0, t.cfg.JitterDB*jitter
	if !catch || t.trials < t.cfg.Fresh {
		t.want = t.target()
	}
}

// place finds the level of the next trial.
func (t *Trainer) place() int {
	if t.next != unplaced {
		return t.next
	}
	p := t.cfg.Posterior
	if t.Catch() {
		// No level is right more often than the lapses allow.
		most := p.Predict(len(p.grid.axes.Level) - 1)
		t.next = p.grid.Nearest(p.Aim(min(Easiest, most-0.005)))
		return t.next
	}
	t.next = p.grid.Nearest(p.Aim(t.want) + t.offDB + t.jitterDB)
	return t.next
}

// target is the share right of an ordinary next trial.
func (t *Trainer) target() float64 {
	switch {
	case misses(t.recent) >= 3:
		t.recent = 0 // one easy trial, then the count begins anew
		return Easy
	case t.trials < t.cfg.Fresh:
		return Easy + (t.cfg.Target-Easy)*float64(t.trials)/float64(t.cfg.Fresh)
	}
	return t.cfg.Target
}

func misses(recent uint) (n int) {
	for ; recent > 0; recent &= recent - 1 {
		n++
	}
	return n
}

// Measurer serves the trials that tell most of the threshold, slope and
// lapse, one of the best four at random and none more than twice in a row.
type Measurer struct {
	posterior *Posterior
	rand      *rand.Rand
	drift     float64
	next      int
	repeats   int // how often next was served before
}

// NewMeasurer starts one, with the chance of drift of a TrainerConfig.
func NewMeasurer(p *Posterior, r *rand.Rand, drift float64) *Measurer {
	m := &Measurer{posterior: p, rand: r, drift: drift, next: -1}
	m.choose()
	return m
}

// Posterior is what is known of the listener.
func (m *Measurer) Posterior() *Posterior { return m.posterior }

// Level is the level of the next trial.
func (m *Measurer) Level() float64 { return m.posterior.grid.axes.Level[m.next] }

// Update is told of an answer at Level.
func (m *Measurer) Update(right bool) {
	m.posterior.Follow(m.next, right, m.drift)
	m.choose()
}

func (m *Measurer) choose() {
	best := m.posterior.mostTelling(4)
	pick := m.rand.IntN(len(best))
	if best[pick] == m.next && m.repeats >= 1 && len(best) > 1 {
		pick = (pick + 1 + m.rand.IntN(len(best)-1)) % len(best)
	}
	m.repeats++
	if best[pick] != m.next {
		m.next, m.repeats = best[pick], 0
	}
}
