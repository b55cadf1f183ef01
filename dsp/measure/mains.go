package measure

import (
	"math"
	"math/cmplx"
	"slices"

	"strop/dsp"
)

// Mains is what a clip holds of the mains: a hum, a buzz or both.
//
//	LineHz       frequency of the mains in the middle of the clip; 0 where
//	             there is none
//	LevelDBFS    rms of the partials found; −Inf where there are none
//	PartialsDBFS level of each partial, that of LineHz at index 0; −Inf where
//	             it was not found
//
// Of a buzz, as rectifiers and dimmers make, the even partials are found
// alone, and many of them; see Buzz.
type Mains struct {
	LineHz, LevelDBFS float64
	PartialsDBFS      []float64
}

const (
	mainsPartials = 20 // as many as the decimator passes
	mainsFew      = 3  // must be found at least
	mainsSure     = 2  // of them very steady
	mainsWindowS  = 0.5
	mainsShortS   = 0.1
	mainsHops     = 4 // in a window
	mainsLeastS   = 3.0
	mainsLeast    = 1e-8  // power of all partials
	mainsFaintest = 1e-11 // of one
	mainsSteady   = 0.45  // least steadiness of a partial, 0 to 1
	mainsVery     = 0.75
	mainsReach    = 0.0015
	mainsBend     = 1.6e-4 // of the frequency, a second
)

// MainsOf finds what 50 or 60 Hz and their multiples leave in a clip of 3 s or
// more; in a shorter one it finds nothing.
//
// Each multiple is brought down to 0 Hz in windows of half a second. What comes
// from the mains stands still there once their drift is taken out, all over
// the clip and at all multiples by the same drift; a note does not, near as it
// may be. How still is told by the phases alone, so that a loud note counts no
// more than a soft one:
//
//	steadiness = |mean of e^(i·phase)|, 0 to 1
//
// The drift, a frequency within 0.15 % and its slope, is what makes the sum of
// their squares greatest. A line is found where 3 partials are steadier than
// 0.45, 2 of them than 0.75, and together reach −80 dBFS. Their size is the
// value that most windows agree on, by Tukey's biweight, so that windows with a
// note in them do not count. A partial that is not there all the time, in nine
// of ten windows of 0.1 s, belongs to something that comes again and again.
//
// It reads partials up to the 20th, 1 or 1.2 kHz. Where a machine's rhythm has
// a multiple of its beat on one of the mains, as 120 beats a minute have, that
// partial is missed or read wrong; so is one within 4 Hz of a louder note that
// is held through the clip.
// Source: common practice, no source; the estimate of location: P. J. Huber,
// Robust Statistics (1981) (from memory).
func MainsOf(buf []dsp.Frame, rateHz float64) Mains {
	checkRate(rateHz)
	best := Mains{LevelDBFS: math.Inf(-1)}
	if float64(len(buf)) < mainsLeastS*rateHz {
		return best
	}
	for _, lineHz := range [2]float64{50, 60} {
		if m := mainsAt(buf, rateHz, lineHz); m.LevelDBFS > best.LevelDBFS {
			best = m
		}
	}
	return best
}

// Buzz reports whether the partials are those of a buzz: 6 even ones or more,
// and all odd ones together 15 dB under them.
func (m Mains) Buzz() bool {
	var power [2]float64
	even := 0
	for i, db := range m.PartialsDBFS {
		power[i%2] += math.Pow(10, db/10)
		if i%2 == 1 && !math.IsInf(db, -1) {
			even++
		}
	}
	return even >= 6 && power[0] < power[1]*math.Pow(10, -1.5)
}

// mainsAt looks for one line.
func mainsAt(buf []dsp.Frame, rateHz, lineHz float64) Mains {
	l := newMultiples(buf, rateHz, lineHz)
	d := l.drift()
	m := Mains{LineHz: lineHz * (1 + d.offset), PartialsDBFS: make([]float64, mainsPartials)}
	found, sure, total := 0, 0, 0.0
	for k := range m.PartialsDBFS {
		steady, power := l.partial(k+1, d)
		m.PartialsDBFS[k] = dsp.PowerToDB(power)
		if power == 0 {
			continue
		}
		found++
		if steady >= mainsVery {
			sure++
		}
		total += power
	}
	if found < mainsFew || sure < mainsSure || total < mainsLeast {
		return Mains{LevelDBFS: math.Inf(-1)}
	}
	m.LevelDBFS = dsp.PowerToDB(total)
	return m
}

// drift is how far the mains are off: (1 + offset + slope·t) times their
// frequency, t in seconds from the middle.
type drift struct{ offset, slope float64 }

// cycles is by how many cycles the line is ahead at time t.
func (d drift) cycles(lineHz, t float64) float64 { return lineHz * t * (d.offset + d.slope*t/2) }

// multiples are those of one frequency, each brought down to 0 Hz.
type multiples struct {
	lineHz  float64
	low     []dsp.Frame       // the clip, decimated
	rateHz  float64           // of low
	seconds []float64         // the middle of each window, from that of the clip
	still   [2][][]complex128 // by channel, multiple and window
	phases  [2][][]complex128 // the same, of size 1; 0 in silence
}

func newMultiples(buf []dsp.Frame, rateHz, lineHz float64) *multiples {
	d := newDecimator(rateHz)
	low := d.process(buf)
	n := int(mainsWindowS * d.rateHz)
	hop, window := n/mainsHops, hann(n)
	m := &multiples{lineHz: lineHz, low: low, rateHz: d.rateHz}
	for start := 0; start+n <= len(low); start += hop {
		m.seconds = append(m.seconds, (float64(start)+float64(n-len(low))/2)/d.rateHz)
	}
	for side := range m.still {
		for k := range mainsPartials {
			cycles := lineHz * float64(k+1) / d.rateHz
			windows := make([]complex128, len(m.seconds))
			for i, s := range m.seconds {
				windows[i] = lowered(low[i*hop:][:n], side, window, cycles) * cmplx.Rect(4/float64(n), -2*math.Pi*cycles*s*d.rateHz)
			}
			m.still[side] = append(m.still[side], windows)
			m.phases[side] = append(m.phases[side], phasesOf(windows))
		}
	}
	return m
}

// phasesOf is z with each value made of size 1; what is no more than rounding
// has no phase.
func phasesOf(z []complex128) []complex128 {
	phases := make([]complex128, len(z))
	for i, v := range z {
		if size := cmplx.Abs(v); size > 1e-9 {
			phases[i] = v / complex(size, 0)
		}
	}
	return phases
}

// lowered is the sum of x under a window, turned back from its middle on.
func lowered(x []dsp.Frame, side int, window []float64, cycles float64) (sum complex128) {
	z, step := cmplx.Rect(1, math.Pi*cycles*float64(len(x))), cmplx.Rect(1, -2*math.Pi*cycles)
	for i, w := range window {
		sum += complex(w*x[i][side]*real(z), w*x[i][side]*imag(z))
		z *= step
	}
	return sum
}

// drift is the one that makes the multiples stand stillest: the best of a
// grid, then of ever finer ones around it.
func (m *multiples) drift() (best drift) {
	most, reach := -1.0, drift{mainsReach, mainsBend}
	for steps := 48; reach.offset > 1e-6; steps = 4 {
		centre := best
		for i := -steps; i <= steps; i++ {
			for k := -4; k <= 4; k++ {
				d := drift{centre.offset + reach.offset*float64(i)/float64(steps), centre.slope + reach.slope*float64(k)/4}
				if s := m.stillness(d); s > most {
					best, most = d, s
				}
			}
		}
		reach = drift{2 * reach.offset / float64(steps), reach.slope / 2}
	}
	return best
}

// stillness is the sum over multiples of the square of their steadiness.
func (m *multiples) stillness(d drift) (sum float64) {
	var sums [2][mainsPartials]complex128
	for i, s := range m.seconds {
		turn := cmplx.Rect(1, -2*math.Pi*d.cycles(m.lineHz, s))
		z := turn
		for k := range mainsPartials {
			for side := range sums {
				sums[side][k] += z * m.phases[side][k][i]
			}
			z *= turn
		}
	}
	for k := range mainsPartials {
		l, r := cmplx.Abs(sums[0][k]), cmplx.Abs(sums[1][k])
		sum += max(l*l, r*r)
	}
	return sum / float64(len(m.seconds)*len(m.seconds))
}

// partial is the steadiness of a multiple and its power, the mean of both
// channels; 0 where it is not steady or not there all the time in either, or
// under −110 dBFS.
func (m *multiples) partial(order int, d drift) (steady, power float64) {
	for side := range m.still {
		s, ratio := m.inChannel(side, order, d)
		if s >= mainsSteady && m.lasts(side, order, ratio) {
			steady = max(steady, s)
		}
		power += ratio * ratio / 2
	}
	if steady == 0 || power < mainsFaintest {
		return 0, 0
	}
	return steady, power
}

// inChannel is the steadiness of a multiple in one channel, and its amplitude.
func (m *multiples) inChannel(side, order int, d drift) (steady, ratio float64) {
	z := make([]complex128, len(m.seconds))
	var sum complex128
	for i, s := range m.seconds {
		turn := cmplx.Rect(1, -2*math.Pi*float64(order)*d.cycles(m.lineHz, s))
		binsOff := float64(order) * m.lineHz * (d.offset + d.slope*s) * mainsWindowS
		z[i] = turn * m.still[side][order-1][i] / complex(hannRatio(binsOff), 0)
		sum += turn * m.phases[side][order-1][i]
	}
	return cmplx.Abs(sum) / float64(len(z)), cmplx.Abs(biweight(z))
}

// hannRatio is the transform of a Hann window so many bins off, over that in
// the middle.
func hannRatio(bins float64) float64 {
	switch {
	case math.Abs(bins) < 1e-6:
		return 1
	case math.Abs(1-math.Abs(bins)) < 1e-6:
		return 0.5
	}
	return math.Sin(math.Pi*bins) / (math.Pi * bins * (1 - bins*bins))
}

// lasts reports whether a multiple is there all the time, and not again and
// again as a drum is in a steady rhythm: in nine of ten short windows it is no
// less than 0.4 of ratio.
func (m *multiples) lasts(side, order int, ratio float64) bool {
	n := int(mainsShortS * m.rateHz)
	window, cycles := hann(n), float64(order)*m.lineHz/m.rateHz
	var sizes []float64
	for start := 0; start+n <= len(m.low); start += n / 2 {
		sizes = append(sizes, 4/float64(n)*cmplx.Abs(lowered(m.low[start:][:n], side, window, cycles)))
	}
	slices.Sort(sizes)
	return sizes[len(sizes)/10] >= 0.4*ratio
}

// biweight is where most of z are: from the medians on, a mean in which a
// value counts the less the farther off it is, and nothing beyond 4.7 times
// their usual deviation.
// Source: J. W. Tukey's biweight, in Huber, Robust Statistics (1981) (from
// memory).
func biweight(z []complex128) complex128 {
	re, im := make([]float64, len(z)), make([]float64, len(z))
	for i, v := range z {
		re[i], im[i] = real(v), imag(v)
	}
	at := complex(median(re), median(im))
	off := make([]float64, len(z))
	for range 30 {
		for i, v := range z {
			off[i] = cmplx.Abs(v - at)
		}
		reach := 4.7*median(slices.Clone(off)) + 1e-15
		var sum complex128
		weights := 0.0
		for i, v := range z {
			if u := off[i] / reach; u < 1 {
				w := (1 - u*u) * (1 - u*u)
				sum += complex(w, 0) * v
				weights += w
			}
		}
		at = sum / complex(weights, 0)
	}
	return at
}

// median sorts x.
func median(x []float64) float64 {
	slices.Sort(x)
	return (x[len(x)/2] + x[(len(x)-1)/2]) / 2
}
