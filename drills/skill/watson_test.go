package skill_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"strop/drills/skill"
)

// whole numbers from lo to hi.
func whole(lo, hi int) []float64 { return skill.Range(float64(lo), float64(hi), hi-lo+1) }

// The runs of A. B. Watson, QUEST+ (2017): examples 1 to 3 and that of the
// section "Implementation". Stimuli, answers (C correct or first, I not) and
// modes as the tests of the Python package questplus print them; the numbers
// were computed independently with all stimuli reproduced.
var watson = []struct {
	name             string
	form             skill.Form
	axes             skill.Axes
	stimuli, answers string
	mode             skill.Triple
	modeMass         float64 // 0: not given
	expected         [3]float64
	prior            float64 // entropy, 0: not given
	mean, sd         skill.Triple
	entropy          float64
}{
	{
		"example 1: threshold", skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0), Slope: []float64{3.5}, Lapse: []float64{.02}},
		"-18 -22 -25 -28 -30 -22 -13 -15 -16 -18 -19 -20 -21 -22 -23 -19 -20 -20 -18 -18 -19 -17 -17 -18 -18 -18 -19 -19 -19 -19 -19 -19",
		"CCCCIICCCCCCCCICCICCICCCCCCCCCCC",
		skill.Triple{Threshold: -20, Slope: 3.5, Lapse: .02}, 0.318987404, [3]float64{3.562726828, 3.527680603, 3.432018441}, 3.713572067,
		skill.Triple{Threshold: -20.393603, Slope: 3.5, Lapse: .02}, skill.Triple{Threshold: 1.389334}, 1.683501155,
	},
	{
		"Implementation: threshold and slope", skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0), Slope: whole(2, 5), Lapse: []float64{.02}},
		"-18 -22 -12 -13 -15 -16 -17 -18 -19 -21 -24 -25 -26 -27 -21 -22 -23 -20 -20 -20 -21 -19 -19 -20 -20 -20 -19 -19 -19 -19 -19 -20 -20 -20 -20 -20 -21 -21 -20 -20 -20 -19 -18 -18 -19 -19 -19 -18 -18 -17 -18 -18 -18 -17 -17 -17 -17 -17 -17 -17 -18 -18 -18 -18",
		"CICCCCCCCCCCCICCICCCICCCCICCCCCCCCCCCICCIICCCCICICCCICCCCCCCCCCC",
		skill.Triple{Threshold: -20, Slope: 3, Lapse: .02}, .120897859, [3]float64{4.952560574, 4.918493080, 4.629578994}, 0,
		skill.Triple{Threshold: -19.582426, Slope: 3.307536, Lapse: .02}, skill.Triple{Threshold: 1.003579, Slope: 1.075890}, 2.691951389,
	},
	{
		"example 2: threshold, slope and lapse", skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0), Slope: whole(2, 5), Lapse: []float64{0, .01, .02, .03, .04}},
		"-18 -22 -25 -28 -30 -21 -12 -14 -15 -16 -18 -19 -20 -22 -23 -18 -19 -16 -17 -17 -18 -18 -18 -19 -19 -17 -17 -18 -18 -18 -18 -19 -19 -20 -18 -18 -18 -18 -18 -19 -19 -19 -19 -20 -18 -18 -18 -18 -18 -18 -18 -18 -18 -19 -19 -19 -20 -18 -18 -18 -18 -19 -19 -19 -18 -18 -18 -18 -19 -19 -19 -19 -19 -19 -19 -19 -20 -21 -19 -19 -19 -19 -19 -19 -19 -18 -19 -19 -16 -16 -16 -16 -16 -16 0 0" + strings.Repeat(" -19", 14) + " -21 -21" + strings.Repeat(" -19", 16),
		"CCCCIICCCCCCCCICICCCCCCCICCCCCCCCICCCCCCCCCICCCICCCCCCCCICCCCCCICCCCCCCCCCCCCICICCCCICCICCCCCCCICCCCCCCCCCCCCCCICCCICIICCCCICCCC",
		skill.Triple{Threshold: -20, Slope: 5, Lapse: .04}, .080830426, [3]float64{6.558884098, 6.524501625, 6.430924012}, 0,
		skill.Triple{Threshold: -19.597275, Slope: 4.182298, Lapse: .027777}, skill.Triple{Threshold: .607881, Slope: .920230, Lapse: .010513}, 3.288745438,
	},
	{
		"example 3: point of equality", skill.PointOfEquality, skill.Axes{Level: whole(-10, 10), Threshold: whole(-5, 5), Slope: whole(1, 10), Lapse: []float64{0, .01, .02, .03, .04}},
		"0 -1 2 -2 2 3 3 -5 3 3 3 3 -7 -7 -7 -7 4 -7 4 4 4 -8 -8 -8 4 -8 4 -8 -7 4 -7 -7 4 -7 4 -7 -6 3 -4 -5 3 3 -7 2 2 1 0 -7 -6 -6 -6 2 -5 2 -6 -5 3 -5 -5 3 4 -5 -5 4 -4 -4 -4 -4 4 3 3 4 5 5 -5 5 -5 -5 4 5 5 -5 -4 -4 -4 -4 5 -4 -4 -3 4 4 5 5 -4 5 -4 -4 5 4 5 5 -5 5 -4 -4 -4 -4 5 -4 5 4 -4 4 -4 -4 -4 4 -4 -4 -4 4 4 -4 4 4 4 -4",
		"CIICCCCCCCICIIIICCICCIIICICIICIICICIICICCCICCCIIIIICIIIICIIICIICIIICCCIICCICIIICCIIIIICIICCICCICICCICCICIIIICCCCICIIICIIIICCCCCI",
		skill.Triple{Threshold: 0, Slope: 4, Lapse: .01}, 0, [3]float64{6.161276901, 6.045704364, 6.125286212}, 0,
		skill.Triple{Threshold: -.102110, Slope: 4.176822, Lapse: .019346}, skill.Triple{Threshold: .625910, Slope: .698578, Lapse: .014113}, 3.517717249,
	},
}

func TestPosteriorRunsWatsonsExamples(t *testing.T) {
	for _, w := range watson {
		t.Run(w.name, func(t *testing.T) {
			grid := skill.NewGrid(w.form, w.axes)
			p := grid.Prior(skill.Uniform, skill.Uniform, skill.Uniform)
			if w.prior != 0 {
				within(t, "entropy of the prior", p.Entropy(), w.prior, 1e-9)
			}
			stimuli := strings.Fields(w.stimuli)
			if len(stimuli) != len(w.answers) {
				t.Fatalf("%d stimuli, %d answers", len(stimuli), len(w.answers))
			}
			for i, stimulus := range stimuli {
				level := p.MostTelling()
				if want, _ := strconv.ParseFloat(stimulus, 64); grid.Levels()[level] != want {
					t.Fatalf("trial %d: stimulus %g, want %g", i+1, grid.Levels()[level], want)
				}
				if i < 3 {
					within(t, "expected entropy", p.ExpectedEntropy(level), w.expected[i], 1e-8)
				}
				p.Update(level, w.answers[i] == 'C')
			}
			mode, mass := p.Mode()
			if mode != w.mode {
				t.Errorf("mode %v, want %v", mode, w.mode)
			}
			if w.modeMass != 0 {
				within(t, "mass of the mode", mass, w.modeMass, 1e-8)
			}
			within(t, "entropy", p.Entropy(), w.entropy, 1e-8)
			for i, m := range []skill.Marginal{p.Threshold(), p.Slope(), p.Lapse()} {
				mean := [3]float64{w.mean.Threshold, w.mean.Slope, w.mean.Lapse}[i]
				sd := [3]float64{w.sd.Threshold, w.sd.Slope, w.sd.Lapse}[i]
				within(t, "mean", m.Mean(), mean, 6e-7)
				within(t, "standard deviation", m.SD(), sd, 6e-7)
			}
		})
	}
}

func TestMarginal(t *testing.T) {
	m := skill.Marginal{Values: []float64{0, 1, 2, 4}, Mass: []float64{.1, .4, .3, .2}}
	within(t, "mean", m.Mean(), 1.8, 1e-12)
	within(t, "variance", m.SD()*m.SD(), .4+.3*4+.2*16-1.8*1.8, 1e-12)
	for share, want := range map[float64]float64{0: -.5, .1: .5, .3: 1, .5: 1.5, .8: 3, .9: 4, 1: 5} {
		within(t, "quantile", m.Quantile(share), want, 1e-9)
		within(t, "below", m.Below(want), share, 1e-12)
	}
	if in := m.Interval(.8); math.Abs(in.Lo-.5) > 1e-9 || math.Abs(in.Hi-4) > 1e-9 {
		t.Errorf("80 %% interval %v", in)
	}
}

// A kernel by hand: 10 % to each side of the middle, nothing lost at the ends.
func TestDrift(t *testing.T) {
	grid := skill.NewGrid(skill.WeibullDB(.5), skill.Axes{Level: whole(0, 4), Threshold: whole(0, 4), Slope: []float64{2}, Lapse: []float64{.02}})
	at := func(v float64) skill.Weight {
		return func(x float64) float64 {
			if x == v {
				return 1
			}
			return 1e-12
		}
	}
	for start, want := range map[float64][]float64{2: {0, .1, .8, .1, 0}, 0: {.9, .1, 0, 0, 0}, 4: {0, 0, 0, .1, .9}} {
		p := grid.Prior(at(start), skill.Uniform, skill.Uniform)
		p.Drift(0.1)
		for i, got := range p.Threshold().Mass {
			within(t, "mass", got, want[i], 1e-9)
		}
	}
}

// Follow is an update and a drift, and says what was predicted.
func TestFollow(t *testing.T) {
	grid := skill.NewGrid(skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0), Slope: whole(2, 5), Lapse: []float64{0, .02, .04}})
	one := grid.Prior(skill.Normal(-20, 6), skill.Uniform, skill.Uniform)
	two := one.Clone()
	for i := range 200 {
		level, right := 12+i*7%17, i%5 != 0
		predicted := two.Predict(level)
		one.Update(level, right)
		one.Drift(.03)
		within(t, "predicted", two.Follow(level, right, .03), predicted, 1e-12)
	}
	for i, mass := range one.Threshold().Mass {
		within(t, "mass", two.Threshold().Mass[i], mass, 1e-12)
	}
	within(t, "mean slope", two.Slope().Mean(), one.Slope().Mean(), 1e-10)
}

// Rest adds the variance it says, and ends at the prior.
func TestRest(t *testing.T) {
	grid := skill.NewGrid(skill.WeibullDB(.5), skill.Axes{Level: whole(-40, 0), Threshold: whole(-40, 0), Slope: []float64{2}, Lapse: []float64{.02}})
	prior := grid.Prior(skill.Normal(-20, 6), skill.Uniform, skill.Uniform)
	p := prior.Clone()
	o := observer{rand.New(rand.NewPCG(1, 2)), 2, 0.02}
	for range 40 {
		level := p.MostTelling()
		p.Update(level, o.right((grid.Levels()[level]+20)/(20*math.Log10(2))))
	}
	known := p.Threshold()
	rested := p.Clone()
	rested.Rest(skill.Forgetting{SpreadDB: 1, Keep: 1}, 16)
	within(t, "variance after 16 days", math.Pow(rested.Threshold().SD(), 2), math.Pow(known.SD(), 2)+4, 0.15)
	within(t, "mean", rested.Threshold().Mean(), known.Mean(), 0.2)
	rested.Rest(skill.Forgetting{SpreadDB: 1, Keep: .9}, 1e6)
	within(t, "SD after an age", rested.Threshold().SD(), prior.Threshold().SD(), 1e-6)
	p.Rest(skill.Forgetting{SpreadDB: 1, Keep: .5}, 0)
	within(t, "SD after no time", p.Threshold().SD(), known.SD(), 1e-12)
	within(t, "retention after 9 days at .9", skill.Forgetting{Keep: .9}.Retention(9), .9*.9*.9, 1e-12)
}
