package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

const (
	clickOrder     = 32    // of the prediction
	clickBlockS    = 0.040 // over which a sound is taken to be steady
	clickCellS     = 0.002 // in which the residual is summed up
	clickAround    = 15    // cells to either side that a click must stick out of
	clickRank      = 0.85  // of their peaks
	clickOverPeaks = 3.0   // as a ratio
	clickOverNoise = 10.0  // over the standard deviation of the cells next to it
	clickLeastDBFS = -60
	clickUnderDB   = 36    // the sound around it, rms
	clickReachS    = 0.003 // what follows so soon belongs to it
	clickBeforeS   = 0.008 // of the sound before it, twice, up to clickApartS
	clickAfterS    = 0.004 // of the sound after it, twice, from 1.5·clickApartS on
	clickApartS    = 0.002
	clickStroke    = 3.16 // ratio of powers, 5 dB: more than that begins a sound
)

// ClicksOf finds clicks and pops, digital ones and those of a record: samples
// that the sound before them does not lead to, and that leave it as it was.
//
// Each channel is predicted from its last 32 samples, by what is best over 40
// ms. A click is where the error of the prediction is 10 times the standard
// deviation of the errors shortly before and from 4 ms after it on, so that a
// drum, whose noise lasts, is none; and 3 times as high as all but 15 % of the
// peaks within 30 ms to either side, so that the pulses of a voice are none.
// The prediction is made a second time, without the clicks.
//
// It is the stroke of a drum, or another sound that begins, where what is
// around it becomes louder by 5 dB, as it is or in its first or second
// difference, which lie higher: from the 8 ms before the last 8 ms to those, or
// from either to the 4 ms after it and to the 4 ms after those; and where that
// reaches a higher peak than the click. So a small click is missed where a
// sound begins from 10 ms before it to 4 ms after it; and any in the last 11 ms.
//
// A click's size is its first error, in dBFS, in the channel where that is
// greater: that is its peak where it begins with it. Less than −60 dBFS, or 36 dB
// under the rms of the 60 ms around it, is not looked for; clicks less than 3 ms
// apart are one. The steps of a low saw-tooth are found.
//
// Source: S. J. Godsill, P. J. W. Rayner, Digital Audio Restoration (1998),
// chapter 5, the detector by autoregressive residual (from memory). Differs from it in: the
// threshold is robust, and compares with what comes later too; strokes are told
// apart.
func ClicksOf(buf []dsp.Frame, rateHz float64) []Event {
	return newClickFinder(rateHz).all(buf)
}

// pulsesOf are clicks, and strokes that begin like one.
func pulsesOf(buf []dsp.Frame, rateHz float64) []Event {
	f := newClickFinder(rateHz)
	f.strokesToo = true
	return f.all(buf)
}

// clickFinder works on one channel after the other.
type clickFinder struct {
	block, cell, reach int // frames
	before, after      int
	apart              int
	window             []float64
	x                  []float64
	errors             []float64 // of the prediction
	least, under       float64   // ratios
	strokesToo         bool
}

func newClickFinder(rateHz float64) *clickFinder {
	checkRate(rateHz)
	f := &clickFinder{
		block: 2 * int(clickBlockS*rateHz/2), cell: int(clickCellS * rateHz), reach: int(clickReachS * rateHz),
		before: int(clickBeforeS * rateHz), after: int(clickAfterS * rateHz), apart: int(clickApartS * rateHz),
		least: dsp.FromDB(clickLeastDBFS), under: dsp.FromDB(-clickUnderDB),
	}
	f.window = hann(f.block)
	return f
}

// all are the clicks of both channels.
func (f *clickFinder) all(buf []dsp.Frame) (clicks []Event) {
	for side := range 2 {
		x := make([]float64, len(buf))
		for i := range buf {
			x[i] = buf[i][side]
		}
		if side == 1 && slices.Equal(x, f.x) {
			break
		}
		clicks = append(clicks, f.find(x)...)
	}
	return f.joined(clicks)
}

func (f *clickFinder) find(x []float64) []Event {
	f.x, f.errors = x, make([]float64, len(x))
	f.predict(x)
	first := f.outliers()
	if len(first) == 0 {
		return nil
	}
	f.predict(f.without(first))
	if f.strokesToo {
		return f.outliers()
	}
	return slices.DeleteFunc(f.outliers(), f.strikes)
}

// strikes reports whether a click begins a sound, or lies in its attack.
func (f *clickFinder) strikes(e Event) bool {
	from := e.Frame + e.Frames + 3*f.apart/2
	if from+2*f.after > len(f.x) {
		return true // what follows cannot be heard
	}
	far := f.powers(e.Frame-f.apart-2*f.before, e.Frame-f.apart-f.before)
	near := f.powers(e.Frame-f.apart-f.before, e.Frame-f.apart)
	first, second := f.powers(from, from+f.after), f.powers(from+f.after, from+2*f.after)
	for i := range far {
		before := clickStroke*min(near[i], far[i]) + clickSilence
		if min(first[i], second[i]) > before || near[i] > before {
			return f.peak(e.Frame+e.Frames+f.apart/12, from+2*f.after) > dsp.FromDB(e.SizeDB)
		}
	}
	return false
}

// peak is that of the sound between two frames.
func (f *clickFinder) peak(from, to int) (peak float64) {
	for _, v := range f.x[min(from, len(f.x)):min(to, len(f.x))] {
		peak = max(peak, math.Abs(v))
	}
	return peak
}

// clickSilence is a power of which nothing is heard: −120 dBFS.
const clickSilence = 1e-12

// powers are the mean power of the sound between two frames, and those of its
// first and second differences.
func (f *clickFinder) powers(from, to int) (mean [3]float64) {
	from, to = max(2, from), min(len(f.x), to)
	for n := from; n < to; n++ {
		a, b, c := f.x[n], f.x[n]-f.x[n-1], f.x[n]-2*f.x[n-1]+f.x[n-2]
		mean[0], mean[1], mean[2] = mean[0]+a*a, mean[1]+b*b, mean[2]+c*c
	}
	for i := range mean {
		mean[i] /= float64(max(1, to-from))
	}
	return mean
}

// predict finds the errors of the prediction of f.x, by coefficients that are
// best for like. Blocks overlap by half; their middle halves are used.
func (f *clickFinder) predict(like []float64) {
	work := make([]float64, f.block)
	for start := -f.block / 4; start < len(like); start += f.block / 2 {
		for i := range work {
			work[i] = 0
			if k := start + i; k >= 0 && k < len(like) {
				work[i] = f.window[i] * like[k]
			}
		}
		a := predictor(work, clickOrder)[:clickOrder+1]
		from, to := max(0, start+f.block/4), min(len(like), start+3*f.block/4)
		for n := max(from, clickOrder); n < to; n++ {
			last, e := f.x[n-clickOrder:n+1], 0.0
			for k, v := range a {
				e += v * last[clickOrder-k]
			}
			f.errors[n] = e
		}
	}
}

// predictor is the filter 1 + a1·z⁻¹ + … that leaves the least of x, by
// Levinson's recursion on its autocorrelation.
// Source: J. Makhoul, Linear prediction: a tutorial review, Proc. IEEE 63
// (1975) (from memory).
func predictor(x []float64, order int) []float64 {
	r := make([]float64, order+1)
	for k := range r {
		late, early, sum := x[k:], x[:len(x)-k], 0.0
		for i, v := range late {
			sum += v * early[i]
		}
		r[k] = sum
	}
	a, next := make([]float64, order+1), make([]float64, order+1)
	a[0] = 1
	r[0] = r[0]*(1+1e-9) + 1e-18 // so that silence and pure tones have a solution
	left := r[0]
	for k := 1; k <= order; k++ {
		sum := 0.0
		for i := range k {
			sum += a[i] * r[k-i]
		}
		reflection := -sum / left
		copy(next, a)
		for i := 1; i <= k; i++ {
			next[i] = a[i] + reflection*a[k-i]
		}
		a, next = next, a
		left *= 1 - reflection*reflection
	}
	return a
}

// outliers are the clicks that the errors show.
func (f *clickFinder) outliers() (clicks []Event) {
	peaks, deviations := f.cells()
	until := -1
	for c := range peaks {
		if peaks[c] < f.least {
			continue
		}
		threshold := max(f.least, f.under*f.rmsAround(c), clickOverNoise*nearby(deviations, c), clickOverPeaks*typicalPeak(peaks, c))
		if peaks[c] < threshold {
			continue
		}
		end := min(len(f.errors), (c+1)*f.cell)
		for n := c * f.cell; n < end; n++ {
			size := math.Abs(f.errors[n])
			switch {
			case size < threshold:
			case n < until:
				clicks[len(clicks)-1].Frames = n + 1 - clicks[len(clicks)-1].Frame
			default:
				clicks = append(clicks, Event{n, 1, dsp.ToDB(size)})
				until = n + f.reach
			}
		}
	}
	return clicks
}

// cells are the peak and the standard deviation, by the median, of the errors
// of each cell.
func (f *clickFinder) cells() (peaks, deviations []float64) {
	sorted := make([]float64, f.cell)
	for start := 0; start+f.cell <= len(f.errors); start += f.cell {
		for i, e := range f.errors[start:][:f.cell] {
			sorted[i] = math.Abs(e)
		}
		slices.Sort(sorted)
		peaks = append(peaks, sorted[f.cell-1])
		deviations = append(deviations, sorted[f.cell/2]/0.6745)
	}
	return peaks, deviations
}

// rmsAround is the rms of the sound around a cell.
func (f *clickFinder) rmsAround(c int) float64 {
	around := f.x[max(0, (c-clickAround)*f.cell):min(len(f.x), (c+1+clickAround)*f.cell)]
	return math.Sqrt(sumSquares(around) / float64(len(around)))
}

// nearby is the greatest deviation of the two cells before c and the two after
// the next.
func nearby(deviations []float64, c int) (most float64) {
	for _, k := range [4]int{c - 2, c - 1, c + 2, c + 3} {
		if k >= 0 && k < len(deviations) {
			most = max(most, deviations[k])
		}
	}
	return most
}

// typicalPeak is what all but a few of the peaks around c stay under, without
// c and its neighbours.
func typicalPeak(peaks []float64, c int) float64 {
	var around [2 * clickAround]float64
	n := 0
	for k := max(0, c-clickAround); k <= min(len(peaks)-1, c+clickAround); k++ {
		if (k < c-1 || k > c+1) && n < len(around) {
			around[n] = peaks[k]
			n++
		}
	}
	if n == 0 {
		return 0
	}
	slices.Sort(around[:n])
	return around[int(clickRank*float64(n-1))]
}

// without is f.x with the clicks bridged by straight lines.
func (f *clickFinder) without(clicks []Event) []float64 {
	y := slices.Clone(f.x)
	for _, c := range clicks {
		from, to := max(0, c.Frame-1), min(len(y)-1, c.Frame+f.cell)
		for n := from; n <= to; n++ {
			share := float64(n-from) / float64(max(1, to-from))
			y[n] = f.x[from] + share*(f.x[to]-f.x[from])
		}
	}
	return y
}

// joined are the clicks of both channels in order, those that meet as one.
func (f *clickFinder) joined(clicks []Event) (all []Event) {
	slices.SortFunc(clicks, func(a, b Event) int { return a.Frame - b.Frame })
	for _, c := range clicks {
		if len(all) == 0 || c.Frame >= all[len(all)-1].Frame+f.reach {
			all = append(all, c)
			continue
		}
		last := &all[len(all)-1]
		last.Frames = max(last.Frames, c.Frame+c.Frames-last.Frame)
		last.SizeDB = max(last.SizeDB, c.SizeDB)
	}
	return all
}
