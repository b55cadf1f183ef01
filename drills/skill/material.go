package skill

import "math"

// Material is how much harder a loop is than the others, in dB of threshold,
// learned from answers and shrunk to 0 while there are few: a random effect of
// the loop.
//
//	answer ~ form(level, threshold + offset, slope, lapse), offset ~ Normal(0, spread)
type Material struct {
	form Form
	marg Marginal
}

// DefaultMaterialSpreadDB is the standard deviation of loops about the
// threshold of a skill: an assumption, until enough loops have been heard.
const DefaultMaterialSpreadDB = 1.0

// NewMaterial knows nothing of a loop but how much loops differ.
func NewMaterial(form Form, spreadDB float64) *Material {
	m := &Material{form, Marginal{Values: Range(-5*spreadDB, 5*spreadDB, 81)}}
	for _, v := range m.marg.Values {
		m.marg.Mass = append(m.marg.Mass, density(v/spreadDB))
	}
	normalise(m.marg.Mass)
	return m
}

// Update learns from an answer at a level on this loop by a listener who, on
// other loops, has these parameters.
func (m *Material) Update(level float64, right bool, listener Triple) {
	for i, offset := range m.marg.Values {
		p := m.form(level, listener.Threshold+offset, listener.Slope, listener.Lapse)
		if !right {
			p = 1 - p
		}
		m.marg.Mass[i] *= max(p, 1e-6)
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

// MeanTriple is the mean of each parameter.
func (p *Posterior) MeanTriple() Triple {
	return Triple{p.Threshold().Mean(), p.Slope().Mean(), p.Lapse().Mean()}
}
