package practice

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"strop/drills"
)

// Day is what a plan is made for.
type Day struct {
	Tools     []drills.Tool // that may be practised, in the order in which newcomers meet them
	Condition drills.Condition
	OnStem    bool // the material has stems
	Minutes   int  // wanted, 1 or more
	Now       time.Time
}

// Plan is one day's practice.
type Plan struct {
	Blocks  []Block `json:"blocks"`
	Minutes int     `json:"minutes"` // of all blocks
	Advice  string  `json:"advice"`  // one sentence, or ""
}

// Block is one drill for some minutes.
type Block struct {
	Tool       drills.Tool      `json:"-"`
	Rung       drills.Rung      `json:"-"`
	Drill      string           `json:"drill"` // IDs of the two
	Way        string           `json:"way"`
	Condition  drills.Condition `json:"condition"`
	Regions    []string         `json:"regions"` // that a review is due of, or that have been asked least; empty: whichever come
	Minutes    int              `json:"minutes"`
	Trials     int              `json:"trials"`
	Reason     string           `json:"reason"`     // one sentence
	BreakAfter bool             `json:"breakAfter"` // rest as long as it took to get here
}

const (
	// blockMinutes is about how long a block takes: some 20 trials, the least of
	// a skill that is practised in one go. Ours, after the sizes of blocks in
	// studies of learning by ear.
	blockMinutes = 5
	// mostBlocks of one day: more is a sip of each.
	mostBlocks = 6
	// mostWithoutBreak minutes, and mostMinutes in a day, as in listening tests:
	// ITU-R BS.1116 sets a session to 20 to 30 minutes (second-hand).
	// Sessions of more than an hour taught slower at last: K. Molloy et al., Less
	// is more: latent learning is maximized by shorter training sessions in
	// auditory perceptual learning, PLoS ONE 7 (2012).
	mostWithoutBreak, mostMinutes = 30, 60
)

const adviceToStop = "This plan ends after 60 minutes: ears tire, and longer sittings taught no more; stop sooner at ringing, muffled hearing or pain."

// Plan lays out a day: reviews that are due first, the longest overdue before
// the others; a drill that is easily taken for one of them beside it; then what
// was practised longest ago; and one new drill, in the order of Tools. It
// refuses days without minutes or drills. The same state and day give the same
// plan.
func (s *State) Plan(d Day) (Plan, error) {
	if d.Minutes < 1 || len(d.Tools) == 0 {
		return Plan{}, fmt.Errorf("a plan needs at least one minute and one drill")
	}
	var p Plan
	minutes := min(d.Minutes, mostMinutes)
	if d.Minutes > mostMinutes {
		p.Advice = adviceToStop
	}
	chosen := s.choose(d, min(max(minutes/blockMinutes, 1), mostBlocks))
	for i, c := range chosen {
		each := minutes / len(chosen)
		if i < minutes%len(chosen) {
			each++
		}
		for part, m := range parts(each) {
			if part > 0 {
				c.reason = "Goes on after the break."
			}
			p.Blocks = append(p.Blocks, s.block(d, c, m))
			p.Minutes += m
		}
	}
	p.rest()
	return p, nil
}

// parts are the minutes of a block, none longer than may be practised without
// a break.
func parts(minutes int) (each []int) {
	n := (minutes + mostWithoutBreak - 1) / mostWithoutBreak
	for i := range n {
		each = append(each, (minutes+i)/n)
	}
	return each
}

// rest puts breaks where the next block would make it too long without one.
func (p *Plan) rest() {
	since := 0
	for i := range p.Blocks {
		since += p.Blocks[i].Minutes
		if i+1 < len(p.Blocks) && since+p.Blocks[i+1].Minutes > mostWithoutBreak {
			p.Blocks[i].BreakAfter, since = true, 0
		}
	}
}

// wish is a drill that might be practised, and why.
type wish struct {
	tool    drills.Tool
	place   int // among Tools
	due     []string
	overdue float64 // days, of the skill that is most
	answers int
	last    time.Time
	reason  string
}

// choose takes up to n drills, in the order in which they are practised.
func (s *State) choose(d Day, n int) (chosen []wish) {
	var wishes []wish
	for i, t := range d.Tools {
		wishes = append(wishes, s.wish(d, t, i))
	}
	slices.SortStableFunc(wishes, byNeed)
	fresh := false
	for len(chosen) < n && len(wishes) > 0 {
		i := next(wishes, chosen, fresh)
		fresh = fresh || wishes[i].answers == 0
		w := wishes[i]
		if partner := confusableWith(chosen, w.tool); w.reason == "" && partner != "" {
			w.reason = fmt.Sprintf("Easily taken for %s, so that the two come side by side.", partner)
		}
		chosen = append(chosen, w.because(d))
		wishes = slices.Delete(wishes, i, i+1)
	}
	return chosen
}

// wish is what is known of a drill under the condition of a day.
func (s *State) wish(d Day, t drills.Tool, place int) wish {
	w := wish{tool: t, place: place}
	for _, k := range s.order {
		known := s.known[k]
		if k.Tool != t.ID || k.Region == "" || k.Condition.Transducer != d.Condition.Transducer {
			continue
		}
		w.answers += known.Trials
		if known.Last.After(w.last) {
			w.last = known.Last
		}
		if known.Due(d.Now) && !slices.Contains(w.due, k.Region) {
			w.due = append(w.due, k.Region)
			w.overdue = max(w.overdue, known.overdueDays(d.Now))
		}
	}
	if len(w.due) > 0 {
		w.reason = fmt.Sprintf("A review is due: last practised %s.", ago(wholeDays(w.last, d.Now)))
	}
	return w
}

// byNeed orders due before not due, longest overdue first, then practised
// before new, longest ago first, then as the tools stand.
func byNeed(a, b wish) int {
	return cmp.Or(
		compareBool(len(a.due) > 0, len(b.due) > 0), cmp.Compare(b.overdue, a.overdue),
		compareBool(a.answers > 0, b.answers > 0), a.last.Compare(b.last), cmp.Compare(a.place, b.place))
}

// compareBool orders true first.
func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// next is which of the wishes, in order of need, comes next: one that is
// easily taken for the last chosen, if there is one that was practised before;
// else the first, and one new drill a day at most unless nothing else is left.
func next(wishes, chosen []wish, fresh bool) int {
	if len(chosen) > 0 {
		last := chosen[len(chosen)-1:]
		if i := slices.IndexFunc(wishes, func(w wish) bool { return w.answers > 0 && confusableWith(last, w.tool) != "" }); i >= 0 {
			return i
		}
	}
	if i := slices.IndexFunc(wishes, func(w wish) bool { return !fresh || w.answers > 0 }); i >= 0 {
		return i
	}
	return 0
}

// confusableWith is the title of the last of some drills that another is
// easily taken for, "" for none.
func confusableWith(chosen []wish, t drills.Tool) string {
	for _, w := range slices.Backward(chosen) {
		if slices.Contains(w.tool.Confusable, t.ID) || slices.Contains(t.Confusable, w.tool.ID) {
			return w.tool.Title
		}
	}
	return ""
}

// because gives a wish its reason.
func (w wish) because(d Day) wish {
	switch {
	case w.reason != "":
	case w.answers == 0:
		w.reason = fmt.Sprintf("New: not yet practised%s.", on(d.Condition.Transducer))
	default:
		w.reason = fmt.Sprintf("Practised longest ago of what is left: %s, %d answers so far.", ago(wholeDays(w.last, d.Now)), w.answers)
	}
	return w
}

func on(transducer string) string {
	if transducer == "" || transducer == "unstated" {
		return ""
	}
	return " on " + transducer
}

// ago is whole days in words.
func ago(days float64) string {
	switch days {
	case 0:
		return "less than a day ago"
	case 1:
		return "1 day ago"
	}
	return fmt.Sprintf("%.0f days ago", days)
}

// mostRegions is how many regions of a block are named.
const mostRegions = 4

func (s *State) block(d Day, w wish, minutes int) Block {
	condition := d.Condition
	if w.tool.Fit.Among {
		condition.Heard = drills.InMix
	}
	onStem := d.OnStem && w.tool.Fit.Stems
	rung := s.Rung(w.tool, condition, onStem)
	b := Block{
		Tool: w.tool, Rung: rung, Drill: w.tool.ID, Way: rung.ID, Condition: condition, Regions: w.due,
		Minutes: minutes, Trials: max(1, int(float64(60*minutes)/s.trialS(w.tool.ID))), Reason: w.reason,
	}
	if len(b.Regions) == 0 {
		for _, known := range s.regions(Skill{Tool: w.tool.ID, Rung: rung.ID, Condition: condition, OnStem: onStem}) {
			b.Regions = append(b.Regions, known.Skill.Region)
		}
	}
	b.Regions = slices.Clip(b.Regions[:min(len(b.Regions), mostRegions)])
	return b
}

const (
	usualTrialS = 15.0 // a trial with its answer heard: practice in listening tests, 10 to 15 s
	leastTrialS = 6.0
	mostTrialS  = 60.0
	afterS      = 5.0 // to hear the truth and go on
	enoughTimes = 20
)

// trialS is how long a trial of a drill takes this listener: as it did, or as
// is usual.
func (s *State) trialS(tool string) float64 {
	var took, answers float64
	for _, k := range s.order {
		if k.Tool == tool && k.Region != "" {
			took += s.known[k].told.TookS
			answers += float64(s.known[k].Trials)
		}
	}
	if answers < enoughTimes {
		return usualTrialS
	}
	return min(max(took/answers+afterS, leastTrialS), mostTrialS)
}
