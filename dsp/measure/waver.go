package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

// Waver is how the speed of a clip goes to and fro against that of the clip
// before, on a sine.
//
//	RateHz    how often
//	DepthPct  greatest deviation of the speed, ± so many per cent
type Waver struct{ RateHz, DepthPct float64 }

const (
	waverWindowS = 0.04
	waverHopS    = 0.01
	waverSwingS  = 0.012  // to either side, that is looked for at first
	waverStepS   = 0.0005 // and from one window to the next: 5 % of the hop
	waverLike    = 0.9    // correlation of windows that count
	waverSure    = 0.97   // and of the first one after others
	waverFar     = 5.0    // times the median deviation; what is farther off is left out
	waverRounds  = 3
	waverLoHz    = 0.3
	waverHiHz    = 10.0
)

// WaverOf compares a clip with what it was made of, the mean delay taken out:
// windows of 40 ms of the one are looked for in the other, and a sine, a
// straight line and a constant are fitted to the delays that are found, each
// window with its power. For a slow waver of 0.3 to 10 Hz, in sound that goes
// on; FlutterOf is for all others, and needs a test tone. All 0 where windows
// are found nowhere.
// Source: common practice, no source.
func WaverOf(before, changed []dsp.Frame, rateHz float64) Waver {
	checkRate(rateHz)
	points := delayPoints(Mid.Samples(before), Mid.Samples(changed), rateHz)
	if len(points) < 20 {
		return Waver{}
	}
	lastS := points[len(points)-1].atS - points[0].atS
	best := bestSine(points, max(waverLoHz, 0.5/lastS), waverHiHz, 0.1/lastS)
	for range waverRounds {
		if best.gain == 0 {
			return Waver{}
		}
		points = best.without(points)
		best = bestSine(points, best.freqHz-0.3/lastS, best.freqHz+0.3/lastS, 0.01/lastS)
	}
	// What a window sees of a sine is its mean over the window.
	x := math.Pi * best.freqHz * waverWindowS
	return Waver{best.freqHz, 100 * best.size * 2 * math.Pi * best.freqHz * x / math.Sin(x)}
}

// delayPoint is how late a window was found, in s.
type delayPoint struct{ atS, lateS, weight float64 }

func delayPoints(before, changed []float64, rateHz float64) (points []delayPoint) {
	n, hop := int(waverWindowS*rateHz), int(waverHopS*rateHz)
	swing, step := int(waverSwingS*rateHz), int(waverStepS*rateHz)
	s := seeker{changed, runningSquares(changed), n}
	last, tracked := 0, false
	for start := swing + 1; start+n+swing+1 < min(len(before), len(changed)); start += hop {
		from, to, least := max(last-step, -swing), min(last+step, swing), waverLike
		if !tracked {
			from, to, least = -swing, swing, waverSure
		}
		w := before[start:][:n]
		power := sumSquares(w)
		lag, like := from, -1.0
		for d := from; d <= to; d++ {
			if c := s.like(w, power, start+d); c > like {
				lag, like = d, c
			}
		}
		if tracked = like > least; !tracked {
			continue
		}
		last = lag
		shift, _ := vertex(s.like(w, power, start+lag-1), like, s.like(w, power, start+lag+1))
		points = append(points, delayPoint{float64(start) / rateHz, (float64(lag) + shift) / rateHz, power})
	}
	return points
}

// seeker looks for windows of n samples in x.
type seeker struct {
	x, squares []float64
	n          int
}

// runningSquares is the sum of the squares before each sample.
func runningSquares(x []float64) []float64 {
	sums := make([]float64, len(x)+1)
	for i, v := range x {
		sums[i+1] = sums[i] + v*v
	}
	return sums
}

// like is the correlation of w, whose power is known, with x from a sample on.
func (s *seeker) like(w []float64, power float64, from int) float64 {
	b, sum, odd := s.x[from:][:s.n], 0.0, 0.0
	for i := 0; i+1 < len(b); i += 2 {
		sum += w[i] * b[i]
		odd += w[i+1] * b[i+1]
	}
	return (sum + odd) / math.Sqrt(power*(s.squares[from+s.n]-s.squares[from])+1e-300)
}

// likeness is the correlation of two stretches of the same length.
func likeness(a, b []float64) float64 {
	var aa, bb, ab float64
	for i, v := range a {
		aa += v * v
		bb += b[i] * b[i]
		ab += v * b[i]
	}
	return ab / math.Sqrt(aa*bb+1e-300)
}

// sineFit is a sine that was fitted.
type sineFit struct {
	freqHz, size, gain float64
	x                  []float64
	middleS            float64
}

// bestSine is the sine, of a range of rates, that explains most.
func bestSine(points []delayPoint, fromHz, toHz, stepHz float64) (best sineFit) {
	for freqHz := fromHz; freqHz <= toHz; freqHz += stepHz {
		if f := fitSine(points, freqHz); f.gain > best.gain {
			best = f
		}
	}
	return best
}

// terms are what the unknowns are multiplied with at a time.
func terms(freqHz, middleS, atS float64) [4]float64 {
	sin, cos := math.Sincos(2 * math.Pi * freqHz * atS)
	return [4]float64{1, atS - middleS, sin, cos}
}

// without is the points without those that lie far off the fit: windows that
// were taken for others, a period of the sound away.
func (f *sineFit) without(points []delayPoint) []delayPoint {
	off := make([]float64, len(points))
	for i, p := range points {
		off[i] = p.lateS
		for k, v := range terms(f.freqHz, f.middleS, p.atS) {
			off[i] -= f.x[k] * v
		}
		off[i] = math.Abs(off[i])
	}
	sorted := slices.Clone(off)
	slices.Sort(sorted)
	var kept []delayPoint
	for i, p := range points {
		if off[i] <= waverFar*sorted[len(sorted)/2] {
			kept = append(kept, p)
		}
	}
	return kept
}

// fitSine fits a constant, a line and a sine of freqHz by weighted least
// squares; gain is the share of the squares that the sine explains beyond the
// line.
func fitSine(points []delayPoint, freqHz float64) sineFit {
	var all normal4
	middle := (points[0].atS + points[len(points)-1].atS) / 2
	for _, p := range points {
		all.add(terms(freqHz, middle, p.atS), p.lateS, p.weight)
	}
	line, lineLeft := all.solve(2)
	whole, left := all.solve(4)
	if line == nil || whole == nil || !(lineLeft > 0) {
		return sineFit{}
	}
	return sineFit{freqHz, math.Hypot(whole[2], whole[3]), 1 - left/lineLeft, whole, middle}
}

// normal4 are the normal equations of up to four unknowns.
type normal4 struct {
	a  [4][4]float64
	b  [4]float64
	yy float64
}

func (n *normal4) add(x [4]float64, y, weight float64) {
	for i := range x {
		for k := range x {
			n.a[i][k] += weight * x[i] * x[k]
		}
		n.b[i] += weight * x[i] * y
	}
	n.yy += weight * y * y
}

// solve is the first unknowns, by Gauss and Jordan, and the sum of the squares
// that are left; nil where there is no one solution.
func (n *normal4) solve(count int) (x []float64, left float64) {
	a, b := n.a, n.b
	for i := range count {
		if !(math.Abs(a[i][i]) > 1e-12*n.a[i][i]) {
			return nil, 0
		}
		for row := range count {
			if row == i {
				continue
			}
			ratio := a[row][i] / a[i][i]
			for k := range count {
				a[row][k] -= ratio * a[i][k]
			}
			b[row] -= ratio * b[i]
		}
	}
	left = n.yy
	for i := range count {
		v := b[i] / a[i][i]
		x = append(x, v)
		left -= v * n.b[i]
	}
	return x, left
}
