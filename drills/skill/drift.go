package skill

// Drift lets the threshold have moved by a step of the grid, up or down, each
// with chance share: the listener learns and tires between trials. Without it
// the interval of one who learns grows too narrow and lags behind, the more
// the longer the practice. Nothing is lost at the ends.
//
// Why: I. Fründ, N. V. Haenel & F. A. Wichmann, Inference for psychometric
// functions in the presence of nonstationary behavior, Journal of Vision
// 11(6):16 (2011). The kernel is our own.
func (p *Posterior) Drift(share float64) { p.drift(share, 1) }

// Follow is Update, then Drift, in one pass less: to make the mass sum to 1
// again costs nothing on the way. It returns what Predict said of the level.
func (p *Posterior) Follow(level int, right bool, share float64) (predicted float64) {
	likely := p.weigh(level, right)
	p.drift(share, 1/likely)
	if right {
		return likely
	}
	return 1 - likely
}

// drift is Drift, times a factor.
func (p *Posterior) drift(share, by float64) {
	n, last := p.grid.inner, len(p.mass)-p.grid.inner
	if p.spare == nil {
		p.spare = make([]float64, len(p.mass))
	}
	for i := 0; i <= last; i += n {
		before, after := p.mass[max(i-n, 0):], p.mass[min(i+n, last):] // ends keep what would leave
		mix(p.spare[i:i+n], before, p.mass[i:], after, by*(1-2*share), by*share)
	}
	p.mass, p.spare = p.spare, p.mass
}

// mix is to = stay·at + move·(before + after).
func mix(to, before, at, after []float64, stay, move float64) {
	before, at, after = before[:len(to)], at[:len(to)], after[:len(to)] // no bounds to check below
	for k := range to {
		to[k] = stay*at[k] + move*(before[k]+after[k])
	}
}
