package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

// Comb is a copy of a sound that comes later, as found in the sum of both.
//
//	DelayMS   by how much; 0 where none was found
//	LevelDB   of the copy against the first sound; −Inf where none was found
//	Inverted  its polarity is turned over
type Comb struct {
	DelayMS, LevelDB float64
	Inverted         bool
}

const (
	combWindowS  = 0.17
	combFromHz   = 150
	combToRate   = 0.4  // share of the rate
	combRangeDB  = 40.0 // windows so far under the loudest are left out
	combLeastMS  = 0.3
	combMostMS   = 30.0
	combAroundMS = 1.0 // a peak must stick out of so much to either side
	combSpread   = 8.0 // times the typical size there
	combLeast    = 0.1 // ratio: −20 dB
	combEarlyMS  = 2.0 // below this the spectrum's own shape is in the way
	combEarly    = 0.3 // ratio at 0 ms, falling to combLeast
	combTaper    = 0.1 // of the band, at either end
)

// CombOf finds a copy from 0.3 to 30 ms later, from −20 dB on, −13 dB at half
// a millisecond, in a clip of a few seconds.
//
// The copy makes a ripple on the logarithm of the spectrum, whose own spectrum,
// the cepstrum, has a peak of the copy's ratio at its delay:
//
//	log|1 + g·e^(−iφ)|² = 2·(g·cos φ − g²/2·cos 2φ + …)
//
// A voice or a string has such peaks as well, at its period; but that moves
// with the melody. So the cepstrum of each window of 0.17 s is taken, and of
// all windows the median. The power is that of both channels together, from 150
// Hz to 0.4 of the rate or to where the sound ends. One steady note hides its
// period, and what it is made of may leave so few frequencies that a delay is
// not told from a shorter one.
//
// Source: B. P. Bogert, M. J. R. Healy, J. W. Tukey, The quefrency alanysis of
// time series for echoes, Symposium on Time Series Analysis (1963), chapter 15;
// A. M. Noll, Cepstrum pitch determination, JASA 41 (1967) (from memory). The
// median over windows is our own.
func CombOf(buf []dsp.Frame, rateHz float64) Comb {
	checkRate(rateHz)
	none := Comb{LevelDB: math.Inf(-1)}
	f := newCombFinder(rateHz, BandEdgeHz(buf, rateHz))
	median := f.median(buf)
	if median == nil {
		return none
	}
	best, ratio, at := 0.0, 0.0, 0
	first, last := int(combLeastMS/f.stepMS), int(combMostMS/f.stepMS)
	for i := first; i <= last; i++ {
		size := math.Abs(median[i])
		if size < f.least(i) || size < math.Abs(median[i-1]) || size < math.Abs(median[i+1]) {
			continue
		}
		if over := size / f.typical(median, i); over > combSpread && size > ratio {
			best, ratio, at = over, size, i
		}
	}
	if best == 0 {
		return none
	}
	shift, peak := vertex(median[at-1], median[at], median[at+1])
	delayMS := (float64(at) + shift) * f.stepMS
	return Comb{delayMS, dsp.ToDB(peak / f.overlap(delayMS)), peak < 0}
}

// combFinder takes cepstra.
type combFinder struct {
	rateHz  float64
	stepMS  float64 // between two values of a cepstrum
	windows stereoFFT
	from    int       // first bin of the band
	taper   []float64 // over the band
	sum     float64   // of the taper
}

func newCombFinder(rateHz, edgeHz float64) *combFinder {
	n := 1 << int(math.Round(math.Log2(combWindowS*rateHz)))
	topHz := combToRate * rateHz
	if edgeHz > 0 {
		topHz = min(topHz, 0.97*edgeHz)
	}
	f := &combFinder{rateHz: rateHz, stepMS: 500 / rateHz, windows: newStereoFFT(hann(n)), from: int(combFromHz / rateHz * float64(n))}
	f.taper = make([]float64, int(topHz/rateHz*float64(n))-f.from)
	for i := range f.taper {
		x := (float64(i) + 0.5) / float64(len(f.taper))
		f.taper[i] = raised(min(x, 1-x) / combTaper)
		f.sum += f.taper[i]
	}
	return f
}

// median is that of the cepstra of all windows that are loud enough, nil where
// there are too few.
func (f *combFinder) median(buf []dsp.Frame) []float64 {
	n := len(f.windows.window)
	powers := hopPowers(buf, n/2)
	if len(powers) < 8 {
		return nil
	}
	least := slices.Max(powers) * math.Pow(10, -combRangeDB/10)
	fft := planFor(2 * n)
	var cepstra [][]float64
	for k := 1; k < len(powers); k++ {
		if powers[k-1]+powers[k] > 2*least {
			f.windows.transform(buf, k*n/2)
			cepstra = append(cepstra, f.cepstrum(samplesOf(fft, f.logs())))
		}
	}
	if len(cepstra) < 8 {
		return nil
	}
	middle, column := make([]float64, len(cepstra[0])), make([]float64, len(cepstra))
	for i := range middle {
		for k := range cepstra {
			column[k] = cepstra[k][i]
		}
		slices.Sort(column)
		middle[i] = (column[(len(column)-1)/2] + column[len(column)/2]) / 2
	}
	return middle
}

// logs is the logarithm of the power in the band, without its mean and slope,
// as a spectrum.
func (f *combFinder) logs() []complex128 {
	n := len(f.windows.window)
	var l line
	values := make([]float64, len(f.taper))
	for i := range values {
		values[i] = math.Log(f.windows.power(f.from+i) + 1e-30)
		l.add(float64(i), values[i])
	}
	slope, start := l.fit()
	z := make([]complex128, n+1)
	for i, v := range values {
		z[f.from+i] = complex(f.taper[i]*(v-start-slope*float64(i)), 0)
	}
	return z
}

// cepstrum is the ratio of a copy at each delay: the projection of the
// logarithm on its cosine.
func (f *combFinder) cepstrum(inverse []float64) []float64 {
	c := inverse[:int(combMostMS/f.stepMS)+int(combAroundMS/f.stepMS)+2]
	scale := float64(len(inverse)) / 2 / f.sum
	for i := range c {
		c[i] *= scale
	}
	return c
}

// least is the least ratio that is believed at a delay.
func (f *combFinder) least(i int) float64 {
	return max(combLeast, combEarly*(1-float64(i)*f.stepMS/combEarlyMS))
}

// typical is the median size around a delay.
func (f *combFinder) typical(c []float64, i int) float64 {
	reach, core := int(combAroundMS/f.stepMS), int(0.1/f.stepMS)
	var sizes []float64
	for k := max(int(combLeastMS/f.stepMS), i-reach); k <= min(len(c)-1, i+reach); k++ {
		if k < i-core || k > i+core {
			sizes = append(sizes, math.Abs(c[k]))
		}
	}
	slices.Sort(sizes)
	return sizes[len(sizes)/2]
}

// overlap is how alike a window is to the same window, delayed.
func (f *combFinder) overlap(delayMS float64) float64 {
	w, late := f.windows.window, int(delayMS*f.rateHz/1000+0.5)
	sum := 0.0
	for i := late; i < len(w); i++ {
		sum += w[i] * w[i-late]
	}
	return sum / sumSquares(w)
}
