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
	p.scratch = append(p.scratch[:0], p.mass[:n]...) // the threshold before, as it was; ends keep what would leave
	for i := 0; i <= last; i += n {
		before, at, after := p.scratch, p.mass[i:i+n], p.mass[min(i+n, last):][:n]
		for k, here := range at {
			at[k] = (1-2*share)*here + share*(before[k]+after[k])
			before[k] = here
		}
	}
}
