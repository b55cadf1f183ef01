package tools_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"strop/drills"
	"strop/drills/drilltest"
	"strop/drills/tools"
	"strop/dsp"
	"strop/dsp/measure"
)

// hearsLU is the least difference of loudness that a loudnessListener hears: a
// tenth of drills.MatchLU, and finer than any ear.
const hearsLU = 0.01

// A loudnessListener hears how loud the sides of a trial are, and nothing else.
// It knows how loud each answer would make
// the changed side, takes the one that fits, and guesses among those that fit
// alike.
type loudnessListener struct{ r *rand.Rand }

// answer is its answer to the open trial of a session.
func (l loudnessListener) answer(t *testing.T, s *drills.Session, round *drills.Round) (guess dsp.Setting, offered int) {
	t.Helper()
	answers := make([]dsp.Setting, 0, len(round.Rung.Choices)+1)
	for _, c := range round.Rung.Choices {
		g, err := round.Tool.Read(round.Rung, round.Trial.Asked, c.Label)
		if err != nil {
			t.Fatalf("%s: %v", round.Tool.ID, err)
		}
		answers = append(answers, g)
	}
	if round.Tool.NothingShare > 0 {
		answers = append(answers, dsp.Setting{})
	}
	rateHz := round.Trial.Loop.RateHz
	heard := measure.IntegratedLUFS(round.Changed, rateHz)
	off, best := make([]float64, len(answers)), math.Inf(1)
	for i, g := range answers {
		frames, _, err := s.Try(g)
		if err != nil {
			t.Fatalf("%s: %v: %v", round.Tool.ID, g, err)
		}
		off[i] = math.Abs(measure.IntegratedLUFS(frames, rateHz) - heard)
		best = min(best, off[i])
	}
	var fit []dsp.Setting
	for i, g := range answers {
		if off[i] <= best+hearsLU {
			fit = append(fit, g)
		}
	}
	return fit[l.r.IntN(len(fit))], len(answers)
}

// tally is how often a listener was right, and would be by chance.
type tally struct{ n, right, chance, variance float64 }

func (a *tally) add(b tally) {
	a.n, a.right, a.chance, a.variance = a.n+b.n, a.right+b.right, a.chance+b.chance, a.variance+b.variance
}

// sigmas is how far that lies from chance, in standard deviations of the sum
// of as many guesses.
func (a tally) sigmas() float64 { return (a.right - a.chance) / math.Sqrt(a.variance) }

// listen has the listener sit on one way to answer.
func listen(t *testing.T, tool drills.Tool, rung drills.Rung, trials int, seed uint64) (sum tally) {
	t.Helper()
	l := loudnessListener{rand.New(rand.NewPCG(seed, 7))}
	s := sitOn(t, shortened(materials(t)), drilltest.At{Tool: tool, Rung: rung, Level: tool.Level.At(0.8)}, trials, seed)
	for range trials {
		round, err := s.Next(t.Context())
		if err != nil || len(round.Rung.Choices) == 0 {
			return sum // a scale, or what these few seconds cannot show
		}
		guess, n := l.answer(t, s, round)
		o, err := s.Answer(t.Context(), drills.Given{Guess: guess})
		if err != nil {
			t.Fatalf("%s: %v", tool.ID, err)
		}
		p := 1 / float64(n)
		one := tally{1, 0, p, p * (1 - p)}
		if o.Record.Score.Right {
			one.right = 1
		}
		sum.add(one)
	}
	return sum
}

// sample is a drill that is sat on, and how often.
type sample struct {
	tool   drills.Tool
	rung   drills.Rung
	trials int
}

// samples are every way to answer with few choices: a trial or two each, and
// more of those that ask for level.
func samples() (all []sample) {
	for _, tool := range tools.All() {
		for _, rung := range tool.Rungs {
			switch {
			case len(rung.Choices) > 5:
			case tool.LevelAsked:
				all = append(all, sample{tool, rung, 8})
			default:
				all = append(all, sample{tool, rung, 1})
			}
		}
	}
	return all
}

// Who hears nothing but loudness answers by chance, except where level is what
// is asked.
func TestLoudnessAlone(t *testing.T) {
	var mu sync.Mutex
	var level, others tally
	t.Run("drills", func(t *testing.T) {
		for i, s := range samples() {
			t.Run(s.tool.ID+" "+s.rung.ID, func(t *testing.T) {
				t.Parallel()
				got := listen(t, s.tool, s.rung, s.trials, uint64(i))
				mu.Lock()
				defer mu.Unlock()
				if s.tool.LevelAsked {
					level.add(got)
				} else {
					others.add(got)
				}
			})
		}
	})
	t.Logf("level drills: %g of %g right, %.1f by chance; the others: %g of %g, %.1f by chance",
		level.right, level.n, level.chance, others.right, others.n, others.chance)
	if others.n < 60 || level.n < 12 {
		t.Errorf("%g and %g trials are too few to tell", others.n, level.n)
	}
	if z := others.sigmas(); math.Abs(z) > 3 {
		t.Errorf("hearing loudness alone, %g of %g are right, %.1f standard deviations from chance", others.right, others.n, z)
	}
	if z := level.sigmas(); z < 3 {
		t.Errorf("where level is asked, hearing loudness gives %g of %g, %.1f standard deviations from chance", level.right, level.n, z)
	}
}

// shortened are loops of a second and a half, for what needs no more.
func shortened(clips []drills.Clip) []drills.Clip {
	short := make([]drills.Clip, len(clips))
	for i, c := range clips {
		n := min(len(c.Frames), int(1.5*c.Loop.RateHz))
		c.Loop.Frames, c.Frames = n, c.Frames[:n]
		stems := make([]drills.Stem, len(c.Stems))
		for k, st := range c.Stems {
			load := st.Load
			st.Load = func() ([]dsp.Frame, error) {
				frames, err := load()
				if err != nil {
					return nil, err
				}
				return frames[:n], nil
			}
			stems[k] = st
		}
		if c.Stems != nil {
			c.Stems = stems
		}
		short[i] = c
	}
	return short
}
