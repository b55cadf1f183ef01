package skill

import "math"

// Material is how much harder a loop is than the others, in dB of threshold,
// learned from answers and shrunk to 0 while there are few: a random effect of
// the loop, for a Weibull function of m choices with chance 1/m.
//
//	answer ~ Weibull(level, threshold + offset, slope, lapse), offset ~ Normal(0, spread)
type Material struct {
	chance float64
	marg   Marginal // of the offset, evenly spaced
}

// DefaultMaterialSpreadDB is the standard deviation of loops about the
// threshold of a skill: an assumption, until enough loops have been heard.
const DefaultMaterialSpreadDB = 1.0

// NewMaterial knows nothing of a loop but how much loops differ.
func NewMaterial(chance, spreadDB float64) *Material {
	m := &Material{chance, Marginal{Values: Range(-5*spreadDB, 5*spreadDB, 21)}}
	for _, v := range m.marg.Values {
		m.marg.Mass = append(m.marg.Mass, density(v/spreadDB))
	}
	normalise(m.marg.Mass)
	return m
}

// Update learns from an answer at a level on this loop by a listener who, on
// other loops, has these parameters. It is WeibullDB with its power of ten
// taken from one offset to the next by a factor.
func (m *Material) Update(level float64, right bool, listener Triple) {
	values := m.marg.Values
	power := math.Pow(10, listener.Slope*(level-listener.Threshold-values[0])/20)
	factor := math.Pow(10, -listener.Slope*(values[1]-values[0])/20)
	for i := range m.marg.Mass {
		p := 1 - listener.Lapse - (1-m.chance-listener.Lapse)*math.Exp(-power)
		if !right {
			p = 1 - p
		}
		m.marg.Mass[i] *= max(p, 1e-6)
		power *= factor
	}
	normalise(m.marg.Mass)
}

// OffsetDB is what to add to the level on this loop to make it as hard as on
// the others; 0 before the first answer.
func (m *Material) OffsetDB() float64 {
	if mean := m.marg.Mean(); math.Abs(mean) > 1e-12 {
		return mean
	}
	return 0
}

// Marginal is what is known of the offset.
func (m *Material) Marginal() Marginal { return m.marg }

// MeanTriple is the mean of each parameter, in one pass.
func (p *Posterior) MeanTriple() (mean Triple) {
	a, i := p.grid.axes, 0
	for _, threshold := range a.Threshold {
		atThreshold := 0.0
		for _, slope := range a.Slope {
			atSlope, lapses := 0.0, 0.0
			for k, m := range p.mass[i : i+len(a.Lapse)] {
				atSlope += m
				lapses += m * a.Lapse[k]
			}
			i += len(a.Lapse)
			atThreshold += atSlope
			mean.Slope += slope * atSlope
			mean.Lapse += lapses
		}
		mean.Threshold += threshold * atThreshold
	}
	return mean
}
