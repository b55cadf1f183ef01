package skill

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
