package practice

import (
	"cmp"
	"math"
	"slices"
	"time"

	"strop/drills"
	"strop/drills/skill"
)

// Report is what is known of one skill, in words and units for people.
type Report struct {
	Skill     Skill     `json:"skill"`
	Title     string    `json:"title"` // of the drill
	Answers   int       `json:"answers"`
	Right     int       `json:"right"`
	Last      time.Time `json:"last"`
	Due       bool      `json:"due"`       // a review is
	Threshold Threshold `json:"threshold"` // as of the last answer
	Trend     Trend     `json:"trend"`
	Lapses    Estimate  `json:"lapses"` // share missed however easy
	Bias      *Bias     `json:"bias"`   // null with too few answers
	Confused  []Mistake `json:"confused"`
	Retention []Kept    `json:"retention"` // from probes alone
}

// Estimate is a figure and what it lies in with 90 %.
type Estimate struct {
	Value    float64        `json:"value"`
	Interval skill.Interval `json:"interval"`
}

// Threshold is the smallest change heard reliably: a share of ShareRight is
// right at it. Where nothing of the trials was measured it has no level.
type Threshold struct {
	Level      *Estimate `json:"level"`   // on the drill's ladder, on the loops practised with
	Audible    *Estimate `json:"audible"` // dB of excitation; null where the ladder is another thing
	Unit       string    `json:"unit"`    // of Level
	ShareRight float64   `json:"shareRight"`
	Beyond     string    `json:"beyond"` // "easier" or "harder" where the interval reaches past what can be asked; else ""
}

// Trend compares the threshold of the first answers with that of the last, each
// measured by itself.
type Trend struct {
	Change  string   `json:"change"`  // "no real change yet", "better", "worse"; "" with too few answers
	FellDB  *float64 `json:"fellDB"`  // by how much the threshold fell; null with too few answers
	LeastDB *float64 `json:"leastDB"` // the least that would be more than chance
	Missing int      `json:"missing"` // answers until there is a trend
}

// Bias is how answers lie about the truth, in the drill's unit of error.
type Bias struct {
	Mean    skill.Mean `json:"mean"` // guess less truth, with Student's 95 % interval
	Answers int        `json:"answers"`
	Unit    string     `json:"unit"`
	Spread  *Estimate  `json:"spread"` // of answers on a scale; null where there are choices
	Lapses  *Estimate  `json:"lapses"` // of answers on a scale
}

// Mistake is a region that was named where another was meant.
type Mistake struct {
	Named string `json:"named"`
	Count int    `json:"count"`
}

// Kept is how many probes were right after some days without practice.
type Kept struct {
	UpToDays *float64       `json:"upToDays"` // null: longer
	Right    int            `json:"right"`
	Of       int            `json:"of"`
	Interval skill.Interval `json:"interval"` // Wilson, 95 %
}

// enoughErrors is how many a bias is told from. Common practice, no source.
const enoughErrors = 5

// Report is what is known of every skill with a region, in the order in which
// they were met. It changes nothing.
func (s *State) Report(now time.Time) (reports []Report) {
	for _, k := range s.order {
		if t := s.tool(k.Tool); t != nil && k.Region != "" {
			reports = append(reports, s.known[k].report(*t, now))
		}
	}
	return reports
}

// Calibration is how predictions held, over all skills: each answer counts
// once.
func (s *State) Calibration() (all skill.Calibration) {
	for _, k := range s.order {
		if k.Region != "" {
			all = all.Plus(s.known[k].Predicted)
		}
	}
	return all
}

func (k *Known) report(t drills.Tool, now time.Time) Report {
	return Report{
		Skill: k.Skill, Title: t.Title, Answers: k.Trials, Right: k.Right, Last: k.Last, Due: k.Due(now),
		Threshold: k.threshold(t), Trend: k.trend(), Lapses: estimate(k.trainer.Posterior().Lapse(), identity),
		Bias: k.bias(t), Confused: k.mistakes(), Retention: k.retention(),
	}
}

// estimate is the mean of a marginal and its interval, through a rising scale.
func estimate(m skill.Marginal, through func(float64) float64) Estimate {
	in := m.Interval(.9)
	return Estimate{through(m.Mean()), skill.Interval{Lo: through(in.Lo), Hi: through(in.Hi)}}
}

func identity(v float64) float64 { return v }

func (k *Known) threshold(t drills.Tool) Threshold {
	m := k.ThresholdDB()
	out := Threshold{Unit: t.Level.Unit, ShareRight: k.chance + (1-k.chance)*(1-1/math.E)}
	switch top := k.axis.scale.DB(k.axis.scale.Max); {
	case m.Interval(.9).Hi > top:
		out.Beyond = "easier"
	case m.Interval(.9).Lo < 0:
		out.Beyond = "harder"
	}
	asked := estimate(m, k.axis.scale.Level)
	if k.axis.own {
		out.Level = &asked
		return out
	}
	out.Audible = &asked
	if ratio, known := k.told.levelPerDB(); known {
		onLadder := estimate(m, func(dB float64) float64 { return ratio * k.axis.scale.Level(dB) })
		out.Level = &onLadder
	}
	return out
}

// trend measures the first block of answers and the last anew. With as many
// blocks as were practised, any of which might have been the last, chance is
// allowed one claim in twenty over all of them.
func (k *Known) trend() Trend {
	if missing := 2*blockTrials - k.Trials; missing > 0 {
		return Trend{Missing: missing}
	}
	comparisons := k.Trials/blockTrials - 1
	first, last := k.measured(k.told.First), k.measured(k.told.Latest)
	fell, least := first.Mean()-last.Mean(), skill.LeastChange(first, last, comparisons)
	return Trend{Change: skill.ChangeOf(first, last, comparisons).String(), FellDB: &fell, LeastDB: &least}
}

// measured is the threshold from some answers alone.
func (k *Known) measured(answers []seen) skill.Marginal {
	grid := k.trainer.Posterior().Grid()
	p := skill.DefaultPrior(grid, k.guessDB)
	for _, a := range answers {
		p.Follow(grid.Nearest(a.DB), a.Right, skill.DefaultDrift)
	}
	return p.Threshold()
}

func (k *Known) bias(t drills.Tool) *Bias {
	errors := k.told.Errors
	if len(errors) < enoughErrors {
		return nil
	}
	b := &Bias{Mean: skill.MeanOf(errors, .95), Answers: len(errors), Unit: t.Unit}
	if rung, err := t.Rung(k.Skill.Rung); err == nil && len(rung.Choices) == 0 && k.chance == 0 {
		b.Spread, b.Lapses = pointed(errors)
	}
	return b
}

// pointed is the spread and the lapses of answers on a scale, which is taken
// as four times as wide as the largest error.
func pointed(errors []float64) (spread, lapses *Estimate) {
	widest := 0.0
	for _, e := range errors {
		widest = max(widest, math.Abs(e))
	}
	if widest == 0 {
		return nil, nil
	}
	p := skill.NewPointing(4 * widest)
	for _, e := range errors {
		if p.Update(e) != nil {
			return nil, nil // an error that is no number
		}
	}
	s, l := estimate(p.Spread(), identity), estimate(p.Lapse(), identity)
	return &s, &l
}

// mistakes are the other regions that were named, the most frequent first.
func (k *Known) mistakes() []Mistake {
	mistakes := []Mistake{}
	for named, count := range k.Confused {
		if named == k.Skill.Region {
			continue // wrong within the region: what was said there is its bias
		}
		mistakes = append(mistakes, Mistake{named, count})
	}
	slices.SortFunc(mistakes, func(a, b Mistake) int { return cmp.Or(b.Count-a.Count, cmp.Compare(a.Named, b.Named)) })
	return mistakes
}

func (k *Known) retention() []Kept {
	kept := []Kept{}
	for i, probes := range k.told.Kept {
		if probes.Of == 0 {
			continue
		}
		row := Kept{Right: probes.Right, Of: probes.Of, Interval: skill.Wilson(probes.Right, probes.Of, .95)}
		if days := gaps[i]; !math.IsInf(days, 1) {
			row.UpToDays = &days
		}
		kept = append(kept, row)
	}
	return kept
}
