package skill

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Estimator is a tracker that says where the threshold is.
type Estimator interface {
	Tracker
	// Estimate is in dB, with its 90 % interval; known is false where the
	// method has none.
	Estimate() (dB float64, in Interval, known bool)
}

// Knowledge is what a method is told beforehand of a listener whose threshold
// lies somewhere from −28 to −12 dB.
type Knowledge int

const (
	// Informed methods know where most thresholds lie: staircases start 8 dB
	// above the middle, posteriors with t ~ Normal(−20, 6), β ~ Normal(2.75,
	// 1.2), λ ~ Exponential(0.04).
	Informed Knowledge = iota
	// Unknown start: staircases at −4 dB, posteriors flat over the threshold.
	Unknown
)

// PrecisionConfig declares an experiment on how well methods find a threshold.
// Zero values take the defaults of DefaultPrecision.
type PrecisionConfig struct {
	Runs      int      // listeners a cell
	Seed      uint64   // same seed, same listeners for every method
	Methods   []string // names of PrecisionMethods
	Slopes    []float64
	Lapses    []float64
	Trials    []int   // where the estimate is taken; rows come in rising order, each once
	FallDB    float64 // by which the threshold falls with each trial: learning
	Knowledge Knowledge
}

// DefaultPrecision is the experiment of the README.
func DefaultPrecision() PrecisionConfig {
	return PrecisionConfig{Runs: 1000, Seed: 1, Methods: PrecisionMethods(), Slopes: []float64{1.5, 2, 3, 3.5},
		Lapses: []float64{.02, .06}, Trials: []int{20, 30, 40, 60, 100, 120}}
}

// PrecisionRow is one method with one kind of listener after some trials.
type PrecisionRow struct {
	Method            string   `json:"method"`
	Slope             float64  `json:"slope"`
	Lapse             float64  `json:"lapse"`
	Trials            int      `json:"trials"`
	RMSEDB            float64  `json:"rmseDB"`
	BiasDB            float64  `json:"biasDB"`
	Coverage90        *float64 `json:"coverage90"` // share of 90 % intervals that hold the threshold; null for methods without
	MonteCarloErrorDB float64  `json:"monteCarloErrorDB"`
	Accuracy          float64  `json:"accuracy"` // share right of the trials served after the first 20; of up to 20 trials, of all
}

// labMethod makes an estimator, and says what it estimates: the threshold of
// the Weibull function where target is 0, else where that share is right.
type labMethod struct {
	name   string
	target float64
	make   func(k Knowledge, g *Grid, r *rand.Rand) Estimator
}

var labMethods = []labMethod{
	{"85 % placement", 0, newPlacement},
	{"minimum entropy", 0, func(k Knowledge, g *Grid, r *rand.Rand) Estimator { return labMeasurer{NewMeasurer(prior(k, g), r, 0)} }},
	{"85 % placement, drift", 0, newDriftPlacement},
	{"2 down, 1 up", 0.7071, staircase(2, 0)},
	{"3 down, 1 up", 0.7937, staircase(3, 0)},
	{"3 down, 1 up, ratio .7393", 0.8315, staircase(3, 0.7393)},
	{"weighted up-down 75 %", 0.75, func(k Knowledge, _ *Grid, _ *rand.Rand) Estimator {
		// Steps of 2/3 up to 8 dB: the same 2 dB up as the staircases at last.
		return &reversals{Tracker: NewUpDown(UpDownConfig{Start: start(k), Min: -40, Max: 0, Target: .75, StepDown: 2. / 3, Linear: true})}
	}},
	{"QUEST, slope 3.5", 0, newLabQuest},
	{"random placement", 0, func(k Knowledge, g *Grid, r *rand.Rand) Estimator {
		return &randomPlacement{prior(k, g), r, r.IntN(len(g.axes.Level))}
	}},
}

// PrecisionMethods are the names of all methods.
func PrecisionMethods() (names []string) {
	for _, m := range labMethods {
		names = append(names, m.name)
	}
	return names
}

// IntervalMethods are the names of those that tell a 90 % interval.
func IntervalMethods() []string {
	return []string{"85 % placement, drift", "85 % placement", "minimum entropy", "QUEST, slope 3.5"}
}

// Precision runs simulated listeners, thresholds even from −28 to −12 dB, two
// choices, through every method. Errors of a staircase, the mean of its
// levels at reversals from the third on, count from its own target.
func Precision(ctx context.Context, cfg PrecisionConfig, progress Progress) ([]PrecisionRow, error) {
	methods, err := cfg.methods()
	if err != nil {
		return nil, err
	}
	cfg.Trials = slices.Compact(slices.Sorted(slices.Values(cfg.Trials)))
	grid := precisionGrid()
	cells := len(methods) * len(cfg.Slopes) * len(cfg.Lapses)
	runs, err := inParallel(ctx, cells*cfg.Runs, progress, func(i int) []checkpoint {
		method, slope, lapse := cfg.cell(i / cfg.Runs)
		return precisionRun(cfg, methods[method], grid, Triple{Slope: slope, Lapse: lapse}, i%cfg.Runs)
	})
	if err != nil {
		return nil, err
	}
	var rows []PrecisionRow
	for cell := range cells {
		method, slope, lapse := cfg.cell(cell)
		for at, trials := range cfg.Trials {
			row := precisionRow(runs[cell*cfg.Runs:(cell+1)*cfg.Runs], at)
			row.Method, row.Slope, row.Lapse, row.Trials = methods[method].name, slope, lapse, trials
			rows = append(rows, row)
		}
	}
	return rows, nil
}

func (cfg PrecisionConfig) methods() (chosen []labMethod, err error) {
	if cfg.Runs < 1 || len(cfg.Trials) == 0 || slices.Min(cfg.Trials) < 1 || len(cfg.Slopes) == 0 || len(cfg.Lapses) == 0 {
		return nil, fmt.Errorf("precision needs runs, slopes, lapses and numbers of trials, all above 0")
	}
	for _, name := range cfg.Methods {
		i := slices.IndexFunc(labMethods, func(m labMethod) bool { return m.name == name })
		if i < 0 {
			return nil, fmt.Errorf("there is no method %q; the methods are %q", name, PrecisionMethods())
		}
		chosen = append(chosen, labMethods[i])
	}
	return chosen, nil
}

// cell is the method, slope and lapse of the i-th.
func (cfg PrecisionConfig) cell(i int) (method int, slope, lapse float64) {
	slopes, lapses := len(cfg.Slopes), len(cfg.Lapses)
	return i / lapses / slopes, cfg.Slopes[i/lapses%slopes], cfg.Lapses[i%lapses]
}

func precisionGrid() *Grid {
	levels := Range(-40, 0, 41)
	return NewGrid(WeibullDB(.5), Axes{Level: levels, Threshold: levels, Slope: defaultSlopes(), Lapse: defaultLapses()})
}

// checkpoint is an estimate at some trial.
type checkpoint struct {
	errorDB        float64
	covered, known bool
	accuracy       float64
}

// settled is how many trials a method may take to come to rest before its
// accuracy counts.
const settled = 20

func precisionRun(cfg PrecisionConfig, method labMethod, grid *Grid, listener Triple, run int) []checkpoint {
	r := randFor(cfg.Seed, run)
	listener.Threshold = -28 + 16*r.Float64()
	form := WeibullDB(.5)
	e := method.make(cfg.Knowledge, grid, rand.New(rand.NewPCG(cfg.Seed+1, uint64(run))))
	var points []checkpoint
	right, counted := 0, 0
	for n := range slices.Max(cfg.Trials) {
		answer := r.Float64() < form(e.Level(), listener.Threshold, listener.Slope, listener.Lapse)
		e.Update(answer)
		listener.Threshold -= cfg.FallDB
		if n == settled {
			right, counted = 0, 0
		}
		counted++
		right += int(indicator(answer))
		if slices.Contains(cfg.Trials, n+1) {
			estimate, in, known := e.Estimate()
			truth := listener.at(method.target)
			points = append(points, checkpoint{estimate - truth, in.Contains(truth), known, float64(right) / float64(counted)})
		}
	}
	return points
}

// at is the level where a share of two choices is right; the threshold for 0.
func (t Triple) at(share float64) float64 {
	if share == 0 {
		return t.Threshold
	}
	missed := (1 - t.Lapse - share) / (.5 - t.Lapse)
	return t.Threshold + 20/t.Slope*math.Log10(-math.Log(missed))
}

func precisionRow(runs [][]checkpoint, at int) (row PrecisionRow) {
	var bias, square, covered, accuracy running
	for _, points := range runs {
		p := points[at]
		bias.add(p.errorDB)
		square.add(p.errorDB * p.errorDB)
		accuracy.add(p.accuracy)
		if p.known {
			covered.add(indicator(p.covered))
		}
	}
	row.RMSEDB, row.BiasDB, row.Accuracy = math.Sqrt(square.mean()), bias.mean(), accuracy.mean()
	row.MonteCarloErrorDB = square.error() / (2 * row.RMSEDB)
	if covered.n > 0 {
		share := covered.mean()
		row.Coverage90 = &share
	}
	return row
}

func start(k Knowledge) float64 {
	if k == Unknown {
		return -4
	}
	return -12
}

func prior(k Knowledge, g *Grid) *Posterior {
	if k == Unknown {
		return g.Prior(Uniform, defaultSlope, defaultLapse)
	}
	return DefaultPrior(g, -20)
}

// estimate of a posterior: the mean of the threshold.
func estimate(p *Posterior) (float64, Interval, bool) {
	m := p.Threshold()
	return m.Mean(), m.Interval(.9), true
}

type placement struct{ *Trainer }

func newPlacement(k Knowledge, g *Grid, r *rand.Rand) Estimator {
	return placement{NewTrainer(TrainerConfig{Posterior: prior(k, g), Rand: r, Target: TwoChoiceTarget, JitterDB: DefaultJitterDB})}
}

func newDriftPlacement(k Knowledge, g *Grid, r *rand.Rand) Estimator {
	return placement{NewTrainer(TrainerConfig{Posterior: prior(k, g), Rand: r, Target: TwoChoiceTarget, JitterDB: DefaultJitterDB, Drift: DefaultDrift})}
}

// Estimate is the mean of the posterior.
func (p placement) Estimate() (float64, Interval, bool) { return estimate(p.Posterior()) }

type labMeasurer struct{ *Measurer }

// Estimate is the mean of the posterior.
func (m labMeasurer) Estimate() (float64, Interval, bool) { return estimate(m.Posterior()) }

// randomPlacement asks anywhere.
type randomPlacement struct {
	posterior *Posterior
	rand      *rand.Rand
	next      int
}

// Level is any of the grid.
func (p *randomPlacement) Level() float64 { return p.posterior.grid.axes.Level[p.next] }

// Update learns from an answer at Level.
func (p *randomPlacement) Update(right bool) {
	p.posterior.Update(p.next, right)
	p.next = p.rand.IntN(len(p.posterior.grid.axes.Level))
}

// Estimate is the mean of the posterior.
func (p *randomPlacement) Estimate() (float64, Interval, bool) { return estimate(p.posterior) }

// labQuest is a Quest on a scale in dB, told of the Weibull's own threshold.
type labQuest struct{ *Quest }

func newLabQuest(k Knowledge, _ *Grid, _ *rand.Rand) Estimator {
	deviation := 6.0
	if k == Unknown {
		deviation = 40
	}
	return labQuest{NewQuest(QuestConfig{Guess: -1, Deviation: deviation / 20, Range: 2, Grain: .01, Slope: 3.5, Chance: .5,
		Lapse: .02, Share: .02*.5 + .98*(1-.5/math.E)})}
}

// Level in dB.
func (q labQuest) Level() float64 { return 20 * q.Quest.Level() }

// Estimate is the mean of the posterior.
func (q labQuest) Estimate() (float64, Interval, bool) {
	m := q.Threshold()
	in := m.Interval(.9)
	return 20 * m.Mean(), Interval{20 * in.Lo, 20 * in.Hi}, true
}

// reversals averages the levels at which a staircase turned, from the third
// on; before there is one the estimate is its level.
type reversals struct {
	Tracker
	levels []float64
}

func staircase(n int, downUp float64) func(Knowledge, *Grid, *rand.Rand) Estimator {
	return func(k Knowledge, _ *Grid, _ *rand.Rand) Estimator {
		return &reversals{Tracker: NewNDown(NDownConfig{Start: start(k), Min: -40, Max: 0, N: n, Steps: []float64{4, 4, 2}, DownUp: downUp, Linear: true})}
	}
}

// Update notes the level where the answer turns the staircase.
func (s *reversals) Update(right bool) {
	counter := s.Tracker.(interface{ Reversals() int })
	before, level := counter.Reversals(), s.Level()
	s.Tracker.Update(right)
	if counter.Reversals() > before {
		s.levels = append(s.levels, level)
	}
}

// Estimate is the mean of the levels at reversals; it has no interval.
func (s *reversals) Estimate() (dB float64, _ Interval, known bool) {
	if len(s.levels) < 3 {
		return s.Level(), Interval{}, false
	}
	for _, level := range s.levels[2:] {
		dB += level / float64(len(s.levels)-2)
	}
	return dB, Interval{}, false
}
