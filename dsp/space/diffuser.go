package space

import "math"

// diffuser is a row of all-passes that make many echoes of one.
//
//	y[n] = −g·x[n] + v[n−m],  v[n] = x[n] + g·y[n]
//
// Source: M. R. Schroeder, Natural sounding artificial reverberation, JAES 10(3)
// (1962).
type diffuser struct {
	lines [len(diffuseMS)][]float64
	at    [len(diffuseMS)]int
}

// diffuseMS are the delays: no simple ratio between any two.
var diffuseMS = [...]float64{1.37, 2.29, 3.71, 5.87}

const diffuseRatio = 0.65

// newDiffuser is one at rest, its delays stretched by ratio.
func newDiffuser(rateHz, ratio float64) diffuser {
	var d diffuser
	for i, ms := range diffuseMS {
		d.lines[i] = make([]float64, max(2, int(math.Round(ms*ratio*rateHz/1000))))
	}
	return d
}

func (d *diffuser) reset() {
	for i := range d.lines {
		clear(d.lines[i])
	}
	d.at = [len(diffuseMS)]int{}
}

func (d *diffuser) run(x []float64) {
	for i := range d.lines {
		line, at := d.lines[i], d.at[i]
		for n, in := range x {
			out := line[at] - diffuseRatio*in
			v := in + diffuseRatio*out
			if math.Abs(v) < 1e-100 {
				v = 0
			}
			line[at], x[n] = v, out
			if at++; at == len(line) {
				at = 0
			}
		}
		d.at[i] = at
	}
}
