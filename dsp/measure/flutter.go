package measure

import (
	"errors"
	"math"
	"slices"

	"strop/dsp/fourier"
)

// Flutter is how the speed of a machine wavers, as a test tone tells. All
// deviations are peaks, ± so many per cent of the speed.
//
//	FreqHz         mean frequency of the tone
//	WeightedPct    as the ear hears it, AES6-2008: two-sigma
//	UnweightedPct  the same without weighting, to 200 Hz
//	WowPct, WowHz  that of up to 6 Hz, drift included, and the rate of its strongest part
//	FlutterPct, …  that of 6 to 200 Hz
type Flutter struct {
	FreqHz, WeightedPct, UnweightedPct float64
	WowPct, WowHz                      float64
	FlutterPct, FlutterHz              float64
}

const (
	flutterToneHz  = 3150
	flutterNear    = 0.1    // share by which the tone may be off
	flutterReachHz = 400    // to either side of the tone
	flutterEdgeHz  = 100    // in which that ends
	flutterLeastS  = 5.0    // after the ends have been cut off
	flutterCutS    = 0.25   // at either end
	flutterSplitHz = 6.0    // from wow to flutter
	flutterTopHz   = 200.0  // and the end of that
	twoSigma       = 0.9545 // share of the time in which a deviation is below its two-sigma value
)

var (
	errToneShort = errors.New("a flutter reading wants 5.5 s of the test tone or more")
	errNoTone    = errors.New("no steady tone near 3150 Hz was found; record the test tone alone")
)

// FlutterOf measures a recording of a tone of 3150 Hz, of 5.5 s at least.
//
// The tone is brought down to 0 Hz, its phase is differentiated, and the
// deviations are weighted in the frequency domain. The two-sigma value is the
// one that they stay under for 95.45 % of the time: 0.9974 of the peak of a
// sine. A deviation at the border of wow and flutter counts to both in part.
//
// Source: AES6-2008, Method for measurement of weighted peak flutter of analog
// sound recording and reproducing equipment, as its abstract and others report
// it: tone, weighting, statistics. Differs from it in: the share of time is
// that of a normal distribution at two standard deviations; the peaks of both
// directions count alike.
func FlutterOf(tone []float64, rateHz float64) (Flutter, error) {
	checkRate(rateHz)
	d, err := newDemodulator(tone, rateHz)
	if err != nil {
		return Flutter{}, err
	}
	deviations := d.deviations()
	f := Flutter{FreqHz: d.toneHz}
	spectrum := newMirrored(deviations, d.rateHz)
	f.WeightedPct = spectrum.twoSigma(flutterWeight)
	f.UnweightedPct = spectrum.twoSigma(below(flutterTopHz))
	f.WowPct = spectrum.twoSigma(below(flutterSplitHz))
	f.FlutterPct = spectrum.twoSigma(between(flutterSplitHz, flutterTopHz))
	f.WowHz = spectrum.strongest(0, flutterSplitHz)
	f.FlutterHz = spectrum.strongest(flutterSplitHz, flutterTopHz)
	return f, nil
}

// FlutterWeightingDB is the weighting of deviations at a rate, by straight
// lines over the logarithm of frequency between the values of the table; 4 Hz
// counts in full.
// Source: AES6-2008, Table 1 (second-hand).
func FlutterWeightingDB(rateHz float64) float64 {
	i, _ := slices.BinarySearchFunc(flutterTable[:], rateHz, func(row [2]float64, hz float64) int {
		return int(math.Copysign(1, row[0]-hz))
	})
	i = min(max(i, 1), len(flutterTable)-1)
	a, b := flutterTable[i-1], flutterTable[i]
	return a[1] + (b[1]-a[1])*math.Log(rateHz/a[0])/math.Log(b[0]/a[0])
}

// flutterTable is in Hz and dB.
var flutterTable = [...][2]float64{
	{0.1, -48}, {0.2, -30.6}, {0.315, -19.7}, {0.4, -15}, {0.63, -8.4}, {0.8, -6}, {1, -4.2}, {1.6, -1.8}, {2, -0.9},
	{4, 0}, {6.3, -0.9}, {10, -2.1}, {20, -5.9}, {40, -10.4}, {63, -14.2}, {100, -17.3}, {200, -23},
}

func flutterWeight(rateHz float64) float64 {
	if rateHz == 0 {
		return 0
	}
	return math.Pow(10, FlutterWeightingDB(rateHz)/20)
}

func below(hiHz float64) func(rateHz float64) float64 { return between(0, hiHz) }

// between passes what lies between two rates.
func between(loHz, hiHz float64) func(rateHz float64) float64 {
	return func(rateHz float64) float64 {
		if rateHz < loHz || rateHz > hiHz {
			return 0
		}
		return 1
	}
}

// demodulator is a tone brought down to 0 Hz, at a lower rate.
type demodulator struct {
	rateHz, toneHz float64
	re, im         []float64
	frames         int // that lie in the clip
}

func newDemodulator(tone []float64, rateHz float64) (*demodulator, error) {
	if float64(len(tone)) < (flutterLeastS+2*flutterCutS)*rateHz {
		return nil, errToneShort
	}
	fft := planFor(len(tone))
	z := spectrumOf(fft, tone)
	binHz := rateHz / float64(fft.Len())
	k := int(flutterToneHz * (1 - flutterNear) / binHz)
	for i := k; float64(i) < flutterToneHz*(1+flutterNear)/binHz; i++ {
		if square(real(z[i]), imag(z[i])) > square(real(z[k]), imag(z[k])) {
			k = i
		}
	}
	reach := int(flutterReachHz / binHz)
	n := 1
	for n < 4*reach {
		n *= 2
	}
	work := fourier.Apart(4, n)
	d := &demodulator{rateHz: float64(n) * binHz, toneHz: float64(k) * binHz, re: work[2], im: work[3]}
	inside, all := 0.0, 0.0
	for i := -reach; i <= reach; i++ {
		gain := raised(float64(reach-max(i, -i)) * binHz / flutterEdgeHz)
		at := (i + n) % n
		// Conjugated, so that the forward transform goes backwards.
		work[0][at], work[1][at] = gain*real(z[k+i]), -gain*imag(z[k+i])
		inside += square(work[0][at], work[1][at])
	}
	for _, v := range z {
		all += square(real(v), imag(v))
	}
	if !(inside > all/2) {
		return nil, errNoTone
	}
	fourier.NewComplex(n).Transform(d.re, d.im, work[0], work[1])
	d.frames = int(float64(len(tone)) / rateHz * d.rateHz)
	return d, nil
}

// deviations are those of the frequency from its mean, in per cent. They set
// the mean.
func (d *demodulator) deviations() []float64 {
	cut := int(flutterCutS * d.rateHz)
	pct := make([]float64, d.frames-2*cut)
	for i := range pct {
		n := cut + i
		re := d.re[n+1]*d.re[n] + d.im[n+1]*d.im[n]
		im := d.re[n+1]*d.im[n] - d.im[n+1]*d.re[n] // conjugated
		pct[i] = math.Atan2(im, re) / (2 * math.Pi) * d.rateHz
	}
	off := 0.0 // under a window, so that half a period too many counts little
	for i, w := range hann(len(pct)) {
		off += 2 * w * pct[i] / float64(len(pct))
	}
	d.toneHz += off
	for i := range pct {
		pct[i] = 100 * (pct[i] - off) / d.toneHz
	}
	return pct
}

// mirrored is deviations with their mirror image after them, which makes them
// a period without a jump, and the spectrum of that: cosines.
type mirrored struct {
	x      []float64
	fft    *fourier.FFT
	z      []complex128
	rateHz float64
}

// newMirrored stretches x to a power of two by straight lines between its
// values, which are far apart in frequency from what is measured.
func newMirrored(x []float64, rateHz float64) *mirrored {
	n := 1
	for n < len(x) {
		n *= 2
	}
	y, step := make([]float64, 2*n), float64(len(x)-1)/float64(n-1)
	for i := range n {
		at := min(int(float64(i)*step), len(x)-2)
		part := float64(i)*step - float64(at)
		y[i] = x[at] + part*(x[at+1]-x[at])
		y[2*n-1-i] = y[i]
	}
	m := &mirrored{x: y, fft: fourier.NewFFT(2 * n), rateHz: rateHz / step}
	m.z = spectrumOf(m.fft, y)
	return m
}

// twoSigma is the two-sigma value of the deviations under a weight.
func (m *mirrored) twoSigma(weight func(rateHz float64) float64) float64 {
	z := make([]complex128, len(m.z))
	for k := range z {
		z[k] = m.z[k] * complex(weight(float64(k)*m.rateHz/float64(m.fft.Len())), 0)
	}
	x := samplesOf(m.fft, z)[:m.fft.Len()/2]
	cut := int(flutterCutS * m.rateHz)
	sizes := make([]float64, 0, len(x))
	for _, v := range x[cut : len(x)-cut] {
		sizes = append(sizes, math.Abs(v))
	}
	slices.Sort(sizes)
	return sizes[int(twoSigma*float64(len(sizes)-1))]
}

// strongest is the rate of the strongest part between two, by a window and a
// parabola.
func (m *mirrored) strongest(loHz, hiHz float64) float64 {
	n := m.fft.Len() / 2
	x := make([]float64, 2*n)
	for i, w := range hann(n) {
		x[i] = w * m.x[i]
	}
	z := spectrumOf(m.fft, x)
	binHz := m.rateHz / float64(2*n)
	level := func(k int) float64 { return math.Log(square(real(z[k]), imag(z[k])) + 1e-300) }
	lo, hi := max(1, int(math.Ceil(loHz/binHz))), min(len(z)-2, int(hiHz/binHz))
	best := lo
	for k := lo; k <= hi; k++ {
		if level(k) > level(best) {
			best = k
		}
	}
	shift, _ := vertex(level(best-1), level(best), level(best+1))
	return (float64(best) + shift) * binHz
}
