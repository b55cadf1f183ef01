package skill

import "math"

// Forgetting is how knowledge of a listener ages between sittings.
type Forgetting struct {
	SpreadDB float64 // standard deviation, after one day, by which the threshold may have moved; its square grows as √days
	Keep     float64 // share of the knowledge kept after one day; Keep^√days after more
}

// Retention is the share kept after days: Keep^√days. It falls fast at first
// and ever slower, and is a working assumption: forgetting of a trained ear
// has not been measured well enough to fit a law.
func (f Forgetting) Retention(days float64) float64 {
	return math.Pow(f.Keep, math.Sqrt(max(days, 0)))
}

// Rest ages the posterior by days without practice: its threshold spreads,
// with variance SpreadDB²·√days, and a share of 1−Retention returns to the
// prior. Days up to 0 change nothing.
func (p *Posterior) Rest(f Forgetting, days float64) {
	if !(days > 0) {
		return
	}
	if f.SpreadDB > 0 {
		p.spread(f.SpreadDB * f.SpreadDB * math.Sqrt(days))
	}
	keep := f.Retention(days)
	for i, prior := range p.prior {
		p.mass[i] = keep*p.mass[i] + (1-keep)*prior
	}
}

// spread adds variance to the threshold, by as many drifts as it takes: steps
// to either side that nothing foretells add up to a normal kernel.
func (p *Posterior) spread(variance float64) {
	axis := p.grid.axes.Threshold
	last := len(axis) - 1
	if last == 0 {
		return
	}
	step := (axis[last] - axis[0]) / float64(last)
	steps := variance / (step * step)
	times := math.Ceil(steps / (2 * mostDrift))
	for range int(times) {
		p.Drift(steps / (2 * times))
	}
}

// mostDrift is the share at which a drift is (¼, ½, ¼), the smoothest it can
// be; its variance, in steps, is twice the share.
const mostDrift = 0.25

// DefaultForgetting is what the program assumes until a user's own reviews
// say more: some 1 dB of change in a day, and 1 % of the knowledge gone. An
// assumption, no source.
var DefaultForgetting = Forgetting{SpreadDB: 1, Keep: 0.99}

// Holds is the chance that the threshold is at most a standard after days
// without practice, as far as can be foretold.
func (p *Posterior) Holds(f Forgetting, standardDB, days float64) float64 {
	rested := p.Clone()
	rested.Rest(f, days)
	return rested.Threshold().Below(standardDB)
}

// DueAfter is the first whole day without practice on which the chance that a
// standard still holds is below floor (0.85 to 0.9): 0 where it is today, most
// where it is later than that.
func (p *Posterior) DueAfter(f Forgetting, standardDB, floor float64, most int) int {
	for days := range most {
		if p.Holds(f, standardDB, float64(days)) < floor {
			return days
		}
	}
	return most
}

// reviewDays are the gaps before the first reviews, a tenth to a fifth of the
// time that the skill is wanted for. Source of the share: N. J. Cepeda et al.,
// Spacing effects in learning, Psychological Science 19 (2008), measured with
// facts, not with ears.
var reviewDays = [...]int{2, 6, 18, 45}

// ReviewGap is how many days may pass before the next review, after so many
// that went well; the last gap for good.
func ReviewGap(passed int) int { return reviewDays[min(max(passed, 0), len(reviewDays)-1)] }
