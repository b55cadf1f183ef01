package skill

import (
	"fmt"
	"math"
)

// QuestConfig declares a QUEST.
type QuestConfig struct {
	Guess, Deviation float64 // normal prior of the threshold, log10 units
	Range, Grain     float64 // of the thresholds considered, about Guess
	Slope            float64 // β, taken as known; 3.5 in the paper
	Chance           float64 // γ
	Lapse            float64 // δ
	Share            float64 // right at what is called the threshold
}

// Quest places each trial at a quantile of a posterior over the threshold
// alone, for one known slope. It is a baseline: a wrong slope leaves a bias
// that more trials do not remove.
//
//	p = δγ + (1−δ)·(1 − (1−γ)·exp(−10^(β(x−t))))
//
// Source: A. B. Watson & D. G. Pelli, QUEST: a Bayesian adaptive psychometric
// method, Perception & Psychophysics 33 (1983); the quantile that tells most:
// D. G. Pelli, The ideal psychometric procedure, Investigative Ophthalmology
// & Visual Science 28 suppl. (1987).
type Quest struct {
	cfg      QuestConfig
	offset   float64 // from the Weibull's own threshold to where Share is right
	mass     []float64
	quantile float64
}

// NewQuest starts one. It panics where no such thing can be.
func NewQuest(cfg QuestConfig) *Quest {
	half := math.Ceil(cfg.Range / cfg.Grain / 2)
	if !(half >= 1 && half < 1e6 && cfg.Deviation > 0 && cfg.Slope > 0) {
		panic(fmt.Sprintf("skill: no QUEST of %+v", cfg))
	}
	q := &Quest{cfg: cfg, mass: make([]float64, 2*int(half)+1)}
	for i := range q.mass {
		q.mass[i] = density(q.away(i) / cfg.Deviation)
	}
	normalise(q.mass)
	missed := 1 - (cfg.Share-cfg.Lapse*cfg.Chance)/(1-cfg.Lapse)
	q.offset = math.Log10(-math.Log(missed/(1-cfg.Chance))) / cfg.Slope
	if math.IsNaN(q.offset) || math.IsInf(q.offset, 0) {
		panic(fmt.Sprintf("skill: no threshold where %g is right", cfg.Share))
	}
	q.quantile = tellingQuantile(q.right(-cfg.Range), q.right(cfg.Range))
	return q
}

// away is how far from the guess the i-th threshold lies.
func (q *Quest) away(i int) float64 { return float64(i-len(q.mass)/2) * q.cfg.Grain }

// right is the chance of a right answer a distance above the threshold.
func (q *Quest) right(above float64) float64 {
	c := q.cfg
	return c.Lapse*c.Chance + (1-c.Lapse)*(1-(1-c.Chance)*math.Exp(-math.Pow(10, c.Slope*(above+q.offset))))
}

// tellingQuantile is the quantile of the posterior whose trial tells most,
// from the ends of the psychometric function.
func tellingQuantile(lo, hi float64) float64 {
	slope := (binaryEntropy(hi) - binaryEntropy(lo)) / (hi - lo)
	return (1/(1+math.Exp(slope)) - lo) / (hi - lo)
}

// Level is the level of the next trial.
func (q *Quest) Level() float64 { return q.at(q.quantile) }

// at is a quantile, linear between the thresholds of the grid.
func (q *Quest) at(share float64) float64 {
	below := 0.0
	for i, m := range q.mass {
		if below+m >= share {
			if i == 0 {
				return q.cfg.Guess + q.away(0)
			}
			return q.cfg.Guess + q.away(i-1) + q.cfg.Grain*(share-below)/m
		}
		below += m
	}
	return q.cfg.Guess + q.away(len(q.mass)-1)
}

// Update is told of an answer at Level.
func (q *Quest) Update(right bool) { q.UpdateAt(q.Level(), right) }

// UpdateAt is told of an answer at another level, taken to the nearest of the
// grid.
func (q *Quest) UpdateAt(level float64, right bool) {
	above := math.RoundToEven((level-q.cfg.Guess)/q.cfg.Grain) * q.cfg.Grain
	for i := range q.mass {
		chance := q.right(above - q.away(i))
		if !right {
			chance = 1 - chance
		}
		q.mass[i] *= chance
	}
	normalise(q.mass)
}

// Threshold is what is known of the threshold.
func (q *Quest) Threshold() Marginal {
	values := make([]float64, len(q.mass))
	for i := range values {
		values[i] = q.cfg.Guess + q.away(i)
	}
	return Marginal{values, q.mass}
}
