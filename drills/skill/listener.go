package skill

import (
	"math"
	"math/rand/v2"
)

// Stimulus is a trial of m choices as a simulated listener meets it.
type Stimulus struct {
	Skill   int
	LevelDB float64 // size of the change
	Choices int
	Changed int // the choice that is changed
	Louder  int // the choice that is louder, for whatever reason; -1: none
}

// Listener answers trials. GaveUp is an answer, too: no more of this session.
type Listener interface {
	Answer(r *rand.Rand, s Stimulus) int
}

// GaveUp is the answer of a listener who has left.
const GaveUp = -1

var (
	_ Listener = Honest{}
	_ Listener = Always(0)
	_ Listener = (*Alternating)(nil)
	_ Listener = Coin{}
	_ Listener = LevelCue{}
	_ Listener = HearingLimited{}
	_ Listener = (*Quitter)(nil)
)

// Honest hears by a Weibull function, and where in doubt leans to the first
// choice by Bias.
type Honest struct {
	Triple
	Bias float64 // share of the guesses that fall on the first choice whatever is heard
}

// Answer is right with the chance of the form; wrong answers fall anywhere.
func (h Honest) Answer(r *rand.Rand, s Stimulus) int {
	p := WeibullDB(1/float64(s.Choices))(s.LevelDB, h.Threshold, h.Slope, h.Lapse)
	known := (p - 1/float64(s.Choices)) / (1 - 1/float64(s.Choices))
	switch {
	case r.Float64() < known:
		return s.Changed
	case r.Float64() < h.Bias:
		return 0
	}
	return r.IntN(s.Choices)
}

// Always gives one answer for ever.
type Always int

// Answer is that one.
func (a Always) Answer(*rand.Rand, Stimulus) int { return int(a) }

// Alternating goes through the choices in order.
type Alternating struct{ last int }

// Answer is the next choice.
func (a *Alternating) Answer(_ *rand.Rand, s Stimulus) int {
	a.last++
	return a.last % s.Choices
}

// Coin guesses.
type Coin struct{}

// Answer is any choice.
func (Coin) Answer(r *rand.Rand, s Stimulus) int { return r.IntN(s.Choices) }

// LevelCue hears nothing but which choice is louder.
type LevelCue struct{}

// Answer is the louder choice, or a guess.
func (LevelCue) Answer(r *rand.Rand, s Stimulus) int {
	if s.Louder >= 0 {
		return s.Louder
	}
	return r.IntN(s.Choices)
}

// HearingLimited hears as another does, but one skill not at all.
type HearingLimited struct {
	Listener
	Deaf int
}

// Answer is a guess where the skill is the one not heard.
func (h HearingLimited) Answer(r *rand.Rand, s Stimulus) int {
	if s.Skill == h.Deaf {
		return r.IntN(s.Choices)
	}
	return h.Listener.Answer(r, s)
}

// Quitter hears as another does and leaves after Stays answers.
type Quitter struct {
	Listener
	Stays int
}

// Answer is GaveUp when the listener has left.
func (q *Quitter) Answer(r *rand.Rand, s Stimulus) int {
	if q.Stays <= 0 {
		return GaveUp
	}
	q.Stays--
	return q.Listener.Answer(r, s)
}

// Pointer names values on a continuous scale: see Pointing. Assimilation pulls
// each answer by a share of the way towards the one before.
type Pointer struct {
	Bias, Spread, Lapse, Assimilation float64

	last     float64
	answered bool
}

// Answer is a value from lo to hi for a truth.
func (p *Pointer) Answer(r *rand.Rand, truth, lo, hi float64) float64 {
	answer := truth + p.Bias + p.Spread*r.NormFloat64()
	if p.answered {
		answer += p.Assimilation * (p.last - answer)
	}
	if r.Float64() < p.Lapse {
		answer = lo + (hi-lo)*r.Float64()
	}
	p.last, p.answered = min(max(answer, lo), hi), true
	return p.last
}

// Law is how fast a threshold falls with a trial that is answered right with
// a chance, relative to the best chance.
type Law func(chance float64) float64

// Wilson85 learns as a gradient learner does, best at 84 % right:
// z·φ(z)/φ(1) with z = Φ⁻¹(chance). Source: Wilson et al. 2019.
func Wilson85(chance float64) float64 {
	z := probit(min(max(chance, 1e-9), 1-1e-9))
	return max(0, z*density(z)/density(1))
}

// Flat learns from every trial alike.
func Flat(float64) float64 { return 1 }

// Learner is a simulated listener of several skills who learns by trials and
// forgets by days. What is assumed is ours; the sizes of all effects between
// ways to train depend on it.
//
//	a trial:  θ falls by rate·law(chance)·(θ − least)/(1 + (n/40)²), n trials of the skill today
//	a rest:   of what has been gained, keep^√days is left, or keep^days where Nightly
//
// The root makes the first night after a trial the dearest, so that fewer
// skills a session look better than they may be; Nightly does not.
type Learner struct {
	Trait
	Nightly bool

	law    Law
	keep   float64
	skills []learned
	day    float64
	today  int // trials
	burst  int // trials left of a distraction
	dayDB  float64
}

// Trait is what distinguishes learners.
type Trait struct {
	Name       string
	Rate       float64 // of learning; the median over skills
	Slope      float64
	Lapse      float64
	MaterialDB float64 // standard deviation of loops
	DayDB      float64 // standard deviation of days
	TiresAfter int     // trials in a day from which thresholds are 1 dB and lapses 0.05 higher; 0: never
	Distracted float64 // chance, at each trial, that the next five have a lapse of 0.3
	Deaf       bool    // does not hear one skill of all, ever
}

// Traits are the panel: a fixed set of learners to try every policy on.
func Traits() []Trait {
	usual := Trait{Name: "usual", Rate: .022, Slope: 2.5, Lapse: .02, MaterialDB: 1, DayDB: .7}
	vary := func(name string, change func(*Trait)) Trait {
		t := usual
		t.Name = name
		change(&t)
		return t
	}
	return []Trait{
		usual,
		vary("slow", func(t *Trait) { t.Rate /= 2 }),
		vary("fast", func(t *Trait) { t.Rate *= 2 }),
		vary("lapses", func(t *Trait) { t.Lapse = .10 }),
		vary("shallow", func(t *Trait) { t.Slope = 1.2 }),
		vary("steep", func(t *Trait) { t.Slope = 4.5 }),
		vary("tires", func(t *Trait) { t.TiresAfter = 45 }),
		vary("distracted", func(t *Trait) { t.Distracted = .03 }),
		vary("hearing-limited", func(t *Trait) { t.Deaf = true }),
	}
}

type learned struct {
	start, least, rate float64
	threshold          float64 // on the day last practised
	day                float64 // last practised
	today              int     // trials on that day
}

// on is the threshold of a skill on a day from the last practised on.
func (l *Learner) on(s learned, day float64) float64 {
	kept := Forgetting{Keep: l.keep}.Retention(day - s.day)
	if l.Nightly {
		kept = math.Pow(l.keep, day-s.day)
	}
	return s.start - (s.start-s.threshold)*kept
}

// NewLearner draws one of a trait: thresholds from −20 to −8 dB, 6 to 14 dB to
// gain, rates log-normal with a standard deviation of 0.4 in their logarithm.
func NewLearner(r *rand.Rand, t Trait, law Law, keep float64, skills int) *Learner {
	l := &Learner{Trait: t, law: law, keep: keep, skills: make([]learned, skills)}
	for i := range l.skills {
		start := -20 + 12*r.Float64()
		l.skills[i] = learned{threshold: start, start: start, least: start - 6 - 8*r.Float64(), rate: t.Rate * math.Exp(.4*r.NormFloat64())}
	}
	return l
}

// Wake begins a day, later than the last.
func (l *Learner) Wake(r *rand.Rand, day float64) {
	l.day, l.today, l.burst, l.dayDB = day, 0, 0, l.DayDB*r.NormFloat64()
}

// Answer is one trial of two choices: whether it is right, and what is learned.
func (l *Learner) Answer(r *rand.Rand, skill int, levelDB float64) (right bool) {
	s := &l.skills[skill]
	if s.day != l.day {
		s.threshold, s.day, s.today = l.on(*s, l.day), l.day, 0
	}
	now := Triple{s.threshold + l.dayDB + l.MaterialDB*r.NormFloat64(), l.Slope, l.Lapse}
	distraction, answer := r.Float64(), r.Float64()
	if l.TiresAfter > 0 && l.today >= l.TiresAfter {
		now.Threshold++
		now.Lapse += .05
	}
	if l.burst > 0 {
		now.Lapse = .3
		l.burst--
	} else if distraction < l.Distracted {
		l.burst = 5
	}
	chance := 0.5
	if !l.deafTo(skill) {
		chance = WeibullDB(.5)(levelDB, now.Threshold, now.Slope, now.Lapse)
		s.threshold -= s.rate * l.law(chance) * (s.threshold - s.least) / (1 + float64(s.today*s.today)/1600)
	}
	s.today++
	l.today++
	return answer < chance
}

func (l *Learner) deafTo(skill int) bool { return l.Deaf && skill == 0 }

// Gains are the shares of what could be gained that have been by a day, a
// skill each; without the skill that is not heard.
func (l *Learner) Gains(day float64) (gains []float64) {
	for i, s := range l.skills {
		if !l.deafTo(i) {
			gains = append(gains, (s.start-l.on(s, day))/(s.start-s.least))
		}
	}
	return gains
}
