package measure

import (
	"math"
	"slices"

	"strop/dsp"
)

const (
	onsetWindowS  = 0.046
	onsetHopS     = 0.005
	onsetBands    = 6     // an octave
	onsetLowHz    = 30.0  // of the lowest band
	onsetRangeDB  = 60.0  // below the loudest band of the clip there is no onset
	onsetRiseDB   = 1.5   // of the mean band, above what is usual around
	onsetAroundS  = 0.100 // what is usual is the mean over that
	onsetApartS   = 0.040 // from one onset to the next, at least
	onsetEarlyS   = 0.010 // the place in the wave lies so far before the peak of the flux, at most
	onsetLateS    = 0.045 // and so far after it: a window feels what is at its end
	onsetCompareS = 0.005
)

// Onsets are the times, in seconds from the first frame, at which something
// begins: notes, strokes, syllables.
//
// In sixths of an octave, on a logarithmic scale from 60 dB below the loudest on,
// the rises from one window to the next but one are added up: the spectral flux.
// An onset is where that is the highest within 30 ms and 1.5 dB above its mean
// around. Its place is then looked for in the wave: where, in one of four bands, the 5 ms
// that follow have most power over the 5 ms before, the nearer the more. Clicks are found to the frame; of an
// instrument it is where it begins to rise, some milliseconds before it is felt
// as a beat.
//
// Source: S. Böck, F. Krebs, M. Schedl, Evaluating the online capabilities of
// onset detection methods, ISMIR (2012), the logarithmic filtered flux and its
// picking of peaks (from memory); the place in the wave: common practice, no
// source.
func Onsets(buf []dsp.Frame, rateHz float64) []float64 {
	checkRate(rateHz)
	flux := onsetFlux(buf, rateHz)
	var onsets []float64
	around, reach := int(onsetAroundS/onsetHopS), 6
	last := math.Inf(-1)
	for i := range flux {
		near := flux[max(0, i-reach):min(len(flux), i+reach+1)]
		wide := flux[max(0, i-around):min(len(flux), i+around+1)]
		if flux[i] < slices.Max(near) || flux[i] < mean(wide)+onsetRiseDB {
			continue
		}
		at := refineOnset(buf, rateHz, float64(i)*onsetHopS)
		if at-last >= onsetApartS {
			onsets = append(onsets, at)
			last = at
		}
	}
	return onsets
}

// onsetFlux is the mean rise of a band, in dB, every 5 ms.
func onsetFlux(buf []dsp.Frame, rateHz float64) []float64 {
	levels := onsetLevels(buf, rateHz)
	flux := make([]float64, len(levels))
	for i := range flux {
		for b, level := range levels[i] {
			before := -onsetRangeDB
			if i >= 2 {
				before = levels[i-2][b]
			}
			flux[i] += max(0, level-before) / float64(len(levels[i]))
		}
	}
	return flux
}

// onsetLevels are the levels of the bands every 5 ms, in dB of the loudest there
// is, and no less than −60.
func onsetLevels(buf []dsp.Frame, rateHz float64) [][]float64 {
	n := 16
	for float64(n) < onsetWindowS*rateHz {
		n *= 2
	}
	bands := onsetBandsOf(n, rateHz)
	fft := newStereoFFT(hann(n))
	levels := make([][]float64, int(float64(len(buf))/rateHz/onsetHopS))
	loudest := math.SmallestNonzeroFloat64
	for i := range levels {
		fft.transform(buf, int(float64(i)*onsetHopS*rateHz))
		levels[i] = make([]float64, len(bands))
		for b, lines := range bands {
			for k := lines[0]; k < lines[1]; k++ {
				levels[i][b] += fft.power(k)
			}
			loudest = max(loudest, levels[i][b])
		}
	}
	for i := range levels {
		for b, power := range levels[i] {
			levels[i][b] = max(dsp.PowerToDB(power/loudest), -onsetRangeDB)
		}
	}
	return levels
}

// onsetBandsOf are the lines, from and to, of each band that has any, of a
// transform of n frames.
func onsetBandsOf(n int, rateHz float64) (bands [][2]int) {
	from := 1
	for edgeHz := onsetLowHz; from < n/2; edgeHz *= math.Exp2(1.0 / onsetBands) {
		to := min(max(from, int(math.Ceil(edgeHz*float64(n)/rateHz))), n/2)
		if to > from {
			bands = append(bands, [2]int{from, to})
		}
		from = to
	}
	return bands
}

// onsetEdgesHz part the wave into bands, each by its own power, so that a bass
// does not hide a cymbal.
var onsetEdgesHz = [...]float64{250, 1000, 4000}

// refineOnset is the place near a time, in seconds, where in one of four bands
// the power after it, the nearer the more, is greatest over that before.
func refineOnset(buf []dsp.Frame, rateHz, nearS float64) float64 {
	n := int(onsetCompareS * rateHz)
	first, places := int((nearS-onsetEarlyS)*rateHz), int((onsetEarlyS+onsetLateS)*rateHz)
	bands := onsetPowers(buf, rateHz, first-n, places+2*n)
	total := 0.0
	for _, band := range bands {
		total += mean(band)
	}
	floor := 1e-5*total*float64(n) + math.SmallestNonzeroFloat64
	best, most := 0, 0.0
	for _, band := range bands {
		if at, rise := steepestRise(band, n, floor); rise > most {
			best, most = at, rise
		}
	}
	return float64(first+best) / rateHz
}

// onsetPowers are the powers of n frames of buf from a frame on, in each band:
// what lies between low-passes of the first order.
func onsetPowers(buf []dsp.Frame, rateHz float64, first, n int) (bands [len(onsetEdgesHz) + 1][]float64) {
	var weight [len(onsetEdgesHz)]float64
	for e, hz := range onsetEdgesHz {
		weight[e] = 1 - math.Exp(-2*math.Pi*min(hz/rateHz, 0.5))
	}
	for b := range bands {
		bands[b] = make([]float64, n)
	}
	var low [len(onsetEdgesHz)]dsp.Frame
	lead := int(0.02 * rateHz) // for the low-passes to settle
	for i := first - lead; i < first+n; i++ {
		if i < 0 || i >= len(buf) {
			continue
		}
		for side, x := range buf[i] {
			below := 0.0
			for e := range low {
				low[e][side] += weight[e] * (x - low[e][side])
				if i >= first {
					bands[e][i-first] += square(low[e][side]-below, 0)
				}
				below = low[e][side]
			}
			if i >= first {
				bands[len(low)][i-first] += square(x-below, 0)
			}
		}
	}
	return bands
}

// steepestRise is the place, n numbers from the beginning and 2n before the end
// of powers, where those after, the nearer the more, are greatest over the n
// before and a floor.
func steepestRise(powers []float64, n int, floor float64) (place int, most float64) {
	sums := make([]float64, len(powers)+1)  // running sums
	twice := make([]float64, len(powers)+2) // and theirs
	for i, p := range powers {
		sums[i+1] = sums[i] + p
		twice[i+2] = twice[i+1] + sums[i+1]
	}
	for d := range len(powers) - 2*n {
		at := d + n
		after := (twice[at+n+1]-twice[at+1])/float64(n) - sums[at]
		if rise := after / (sums[at] - sums[d] + floor); rise > most {
			place, most = d, rise
		}
	}
	return place, most
}

// BeatOffsets is how onsets lie to a grid.
type BeatOffsets struct {
	EachMS   []float64 // of every onset, from the nearest beat; above 0 it is late
	MeanMS   float64
	SpreadMS float64 // standard deviation
}

// OffsetsFrom compares onsets with a grid of beats, both in seconds, the grid in
// order. Nothing compared with nothing has a mean and a spread of 0.
func OffsetsFrom(onsetsS, gridS []float64) BeatOffsets {
	var o BeatOffsets
	if len(gridS) == 0 {
		return o
	}
	at := 0
	for _, t := range onsetsS {
		for at+1 < len(gridS) && math.Abs(gridS[at+1]-t) <= math.Abs(gridS[at]-t) {
			at++
		}
		for at > 0 && math.Abs(gridS[at-1]-t) < math.Abs(gridS[at]-t) {
			at--
		}
		o.EachMS = append(o.EachMS, 1000*(t-gridS[at]))
	}
	if len(o.EachMS) == 0 {
		return o
	}
	o.MeanMS = mean(o.EachMS)
	squares := 0.0
	for _, d := range o.EachMS {
		squares += (d - o.MeanMS) * (d - o.MeanMS)
	}
	o.SpreadMS = math.Sqrt(squares / float64(len(o.EachMS)))
	return o
}
