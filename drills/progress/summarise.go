package progress

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"time"

	"strop/drills"
	"strop/drills/skill"
	"strop/dsp"
)

// Summarise says what records tell, oldest first. find is the table of tools;
// records of a tool that it does not know are counted without regions and
// errors. A day is a date in where.
func Summarise(records []drills.Record, find func(id string) (drills.Tool, error), where *time.Location) Progress {
	p := Progress{Answers: len(records), Results: []Result{}}
	var order []*tally
	tallies := map[key]*tally{}
	for i := range records {
		r := &records[i]
		k := key{r.Trial.Tool, r.Trial.Rung, r.Trial.Condition}
		t := tallies[k]
		if t == nil {
			t = newTally(k, find)
			tallies[k], order = t, append(order, t)
		}
		t.add(r, where)
	}
	for _, t := range order {
		p.Results = append(p.Results, t.result())
	}
	return p
}

// key is what results are kept apart by.
type key struct {
	tool, rung string
	condition  drills.Condition
}

// tally collects one result.
type tally struct {
	key
	toolDecl drills.Tool
	rungDecl drills.Rung
	known    bool

	answers, nothing, falseAlarms, missed int
	last                                  *drills.Record
	tookS                                 []float64
	all                                   pile
	regions                               map[string]*pile
	days                                  map[date]*pile
}

type date struct {
	year  int
	month time.Month
	day   int
}

func (d date) String() string {
	return time.Date(d.year, d.month, d.day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

// pile collects one part of a result.
type pile struct {
	asked, right int
	errors       []float64
	truths       []dsp.Setting // of a region only
	place        float64       // of a region: sum of the truths on the tool's first parameter
}

func (p *pile) add(r *drills.Record, errorKey string) {
	p.asked++
	if r.Score.Right {
		p.right++
	}
	if e, ok := r.Score.Errors[errorKey]; ok && len(r.Answer.Guess) > 0 {
		p.errors = append(p.errors, e)
	}
}

func newTally(k key, find func(string) (drills.Tool, error)) *tally {
	t := &tally{key: k, regions: map[string]*pile{}, days: map[date]*pile{}}
	tool, err := find(k.tool)
	if err != nil {
		return t
	}
	t.toolDecl, t.known = tool, true
	if rung, err := tool.Rung(k.rung); err == nil {
		t.rungDecl = rung
	}
	return t
}

func (t *tally) add(r *drills.Record, where *time.Location) {
	t.answers++
	t.tookS = append(t.tookS, r.Answer.TookS)
	if t.last == nil || !r.At.Before(t.last.At) {
		t.last = r
	}
	if len(r.Trial.Truth) == 0 {
		t.nothing++
		if len(r.Answer.Guess) > 0 {
			t.falseAlarms++
		}
		return
	}
	if len(r.Answer.Guess) == 0 {
		t.missed++
	}
	t.all.add(r, t.toolDecl.Error)
	year, month, day := r.At.In(where).Date()
	pileOf(t.days, date{year, month, day}).add(r, t.toolDecl.Error)
	if t.known {
		t.addRegion(r)
	}
}

func (t *tally) addRegion(r *drills.Record) {
	region := pileOf(t.regions, t.toolDecl.Region(r.Trial.Truth))
	region.add(r, t.toolDecl.Error)
	region.truths = append(region.truths, r.Trial.Truth)
	if len(t.toolDecl.Params) > 0 {
		first := t.toolDecl.Params[0]
		region.place += first.Place(r.Trial.Truth.Get(first))
	}
}

func pileOf[K comparable](piles map[K]*pile, k K) *pile {
	p := piles[k]
	if p == nil {
		p = &pile{}
		piles[k] = p
	}
	return p
}

func (t *tally) result() Result {
	regions := t.regionOrder()
	r := Result{
		Tool: t.tool, Title: cmp.Or(t.toolDecl.Title, t.tool), Known: t.known,
		Rung: t.rung, RungTitle: cmp.Or(t.rungDecl.Title, t.rung), Condition: t.condition,
		Answers: t.answers, LastAt: t.last.At, MedianTookS: skill.Median(t.tookS),
		Level:       Level{t.last.Trial.Level, t.toolDecl.Level.Name, t.toolDecl.Level.Unit},
		Overall:     t.part("", &t.all),
		Missed:      newShare(t.missed, t.all.asked),
		FalseAlarms: newShare(t.falseAlarms, t.nothing),
		Unit:        t.toolDecl.Unit,
		Regions:     []Part{}, Days: []Part{},
		Biases: t.biases(regions),
	}
	for _, name := range regions {
		r.Regions = append(r.Regions, t.part(name, t.regions[name]))
	}
	for _, d := range slices.SortedFunc(maps.Keys(t.days), compareDates) {
		r.Days = append(r.Days, t.part(d.String(), t.days[d]))
	}
	return r
}

func compareDates(a, b date) int {
	return cmp.Or(cmp.Compare(a.year, b.year), cmp.Compare(a.month, b.month), cmp.Compare(a.day, b.day))
}

// regionOrder is the regions from low to high: by where their truths lie, on
// the average, on the first parameter of the tool.
func (t *tally) regionOrder() []string {
	return slices.SortedFunc(maps.Keys(t.regions), func(a, b string) int {
		pa, pb := t.regions[a], t.regions[b]
		return cmp.Or(cmp.Compare(pa.place/float64(pa.asked), pb.place/float64(pb.asked)), cmp.Compare(a, b))
	})
}

func (t *tally) part(name string, p *pile) Part {
	part := Part{Name: name, Right: newShare(p.right, p.asked)}
	if !t.known {
		return part
	}
	if part.Missing = max(0, Enough-len(p.errors)); part.Missing > 0 {
		return part
	}
	sizes := make([]float64, len(p.errors))
	for i, e := range p.errors {
		sizes[i] = math.Abs(e)
	}
	part.Error = &Error{len(p.errors), skill.MeanOf(sizes, Confidence), skill.MeanOf(p.errors, Confidence)}
	return part
}
