package skill

import "math"

// Drift lets the threshold have moved by a step of the grid, up or down, each
// with chance share: the listener learns and tires between trials. Without it
// the interval of one who learns grows too narrow and lags behind, the more
// the longer the practice.
//
// Why: I. Fründ, N. V. Haenel & F. A. Wichmann, Inference for psychometric
// functions in the presence of nonstationary behavior, Journal of Vision
// 11(6):16 (2011). The kernel is our own.
func (p *Posterior) Drift(share float64) {
	n, last := p.grid.inner, len(p.mass)-p.grid.inner
	if last == 0 {
		return
	}
	for k := range n { // each slope and lapse for itself; ends keep what would leave
		before := p.mass[k]
		for i := k; i <= last; i += n {
			here, after := p.mass[i], p.mass[min(i+n, last+k)]
			p.mass[i] = (1-2*share)*here + share*(before+after)
			before = here
		}
	}
}

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
		p.spread(f.SpreadDB * math.Pow(days, 0.25))
	}
	keep := f.Retention(days)
	for i, prior := range p.prior {
		p.mass[i] = keep*p.mass[i] + (1-keep)*prior
	}
}

// spread moves the mass along the threshold by a normal kernel that loses
// nothing at the ends.
func (p *Posterior) spread(deviation float64) {
	axis, n := p.grid.axes.Threshold, p.grid.inner
	spread := make([]float64, len(p.mass))
	kernel := make([]float64, len(axis))
	for from, at := range axis {
		for to, v := range axis {
			kernel[to] = math.Exp(-(v - at) * (v - at) / (2 * deviation * deviation))
		}
		normalise(kernel)
		source := p.mass[from*n : (from+1)*n]
		for to, k := range kernel {
			addScaled(spread[to*n:(to+1)*n], source, k)
		}
	}
	p.mass = spread
}

func addScaled(to, from []float64, by float64) {
	for i, v := range from {
		to[i] += by * v
	}
}
