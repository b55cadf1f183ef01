package measure

import (
	"cmp"
	"math"
	"slices"

	"strop/dsp"
)

const (
	sinkWindowS  = 0.010
	sinkHops     = 4     // in a window
	sinkBesideS  = 0.012 // that is looked at on either side
	sinkFromHz   = 250.0
	sinkToHz     = 15000.0
	sinkSplitHz  = 4000.0 // above which the loss is twice as great
	sinkLeastDB  = 8.0
	sinkQuietDB  = 35.0 // a band so far under the loudest does not count
	sinkFewest   = 6    // bands that must count
	sinkAlikeDB  = 4.0  // both sides, mean of the bands
	sinkStrayDB  = 1.5  // mean deviation of the bands, and
	sinkStrayRel = 0.2  // of the depth
	sinkHalfRel  = 0.3  // deviation from half the depth, half way
)

var sinkLengthsS = [...]float64{0.012, 0.017, 0.024, 0.034, 0.048, 0.068, 0.096}

// TapeDropoutsOf finds where a sound sinks for 10 to 100 ms and comes back as
// it was: in every half octave from 250 Hz that sounds, as loud after it as
// before, lower in the middle, twice as much above 4 kHz as below, and about
// half as much half way down and half way up. Notes and syllables end and begin
// otherwise: one sound goes, another comes.
//
// A dropout's size is the loss below 4 kHz in its middle, in dB, negative; less
// than 8 dB is not looked for. Its length is that of the best of seven, a
// factor of 1.4 apart. Where there is silence or the beginning of a sound about
// it, it is not found.
// Source: common practice, no source; that the treble falls more: R. L.
// Wallace, Bell Syst. Tech. J. 30 (1951) (from memory).
func TapeDropoutsOf(buf []dsp.Frame, rateHz float64) []Event {
	checkRate(rateHz)
	f := newSinkFinder(buf, rateHz)
	var all []sink
	for _, lengthS := range sinkLengthsS {
		half := max(1, int(math.Round(lengthS/2*rateHz/float64(f.hop))))
		for t := half + f.beside; t+half+f.beside < len(f.levels); t++ {
			if depthDB, ok := f.fit(t, half); ok {
				all = append(all, sink{t, half, depthDB})
			}
		}
	}
	return f.deepest(all)
}

// sink is one that fits: its middle and half its length, in hops.
type sink struct {
	at, half int
	depthDB  float64
}

type sinkFinder struct {
	hop, beside int // frames; hops
	bandsHz     []float64
	levels      [][]float64 // by hop, then band, in dB
	quietDB     float64

	sounding       []int     // the bands that count where one is looked for,
	sides, shelves []float64 // their level about it, and their loss over its depth
}

func newSinkFinder(buf []dsp.Frame, rateHz float64) *sinkFinder {
	s := SpectrogramOf(buf, rateHz, sinkWindowS, sinkWindowS/sinkHops)
	f := &sinkFinder{hop: s.HopFrames, beside: int(sinkBesideS * rateHz / float64(s.HopFrames))}
	for hz := sinkFromHz; hz < min(sinkToHz, rateHz/2/math.Sqrt2); hz *= math.Sqrt2 {
		f.bandsHz = append(f.bandsHz, hz*math.Sqrt(math.Sqrt2))
	}
	sums := make([]float64, len(f.bandsHz))
	for i := range s.Columns {
		f.levels = append(f.levels, f.bandLevels(s, s.Column(i), sums))
	}
	f.quietDB = dsp.PowerToDB(slices.Max(sums)/float64(max(1, s.Columns))) - sinkQuietDB
	return f
}

// bandLevels are those of a column; their powers are added to sums.
func (f *sinkFinder) bandLevels(s *Spectrogram, column []float32, sums []float64) []float64 {
	const nothing = 1e-14 // power
	levels, halfBand := make([]float64, len(f.bandsHz)), math.Sqrt(math.Sqrt2)
	for b, hz := range f.bandsHz {
		power := nothing
		for k := int(math.Round(hz / halfBand / s.LineHz(1))); k <= int(math.Round(hz*halfBand/s.LineHz(1))); k++ {
			power += math.Pow(10, float64(column[k])/10)
		}
		levels[b] = dsp.PowerToDB(power)
		sums[b] += power
	}
	return levels
}

// fit is how deep the sound sinks about t, and whether it does so as a tape's
// does.
func (f *sinkFinder) fit(t, half int) (depthDB float64, ok bool) {
	if !f.choose(t, half) {
		return 0, false
	}
	depthDB = sinkLeastDB
	for range 3 { // the shelf depends on the depth
		depthDB = f.depth(t, depthDB)
	}
	if depthDB < sinkLeastDB {
		return 0, false
	}
	stray, quarter := 0.0, (half+1)/2
	for i := range f.sounding {
		stray += math.Abs(f.loss(t, i) - f.shelves[i]*depthDB)
	}
	return depthDB, stray <= (sinkStrayDB+sinkStrayRel*depthDB)*float64(len(f.sounding)) &&
		max(math.Abs(f.lossOver(t-quarter)-depthDB/2), math.Abs(f.lossOver(t+quarter)-depthDB/2)) <= sinkHalfRel*depthDB
}

// choose takes the bands that sound on both sides; ok if they are enough, and
// alike.
func (f *sinkFinder) choose(t, half int) (ok bool) {
	f.sounding, f.sides = f.sounding[:0], f.sides[:0]
	unlike := 0.0
	for b := range f.bandsHz {
		before, after := f.mean(t-half-f.beside, t-half, b), f.mean(t+half+1, t+half+1+f.beside, b)
		if min(before, after) > f.quietDB {
			f.sounding, f.sides = append(f.sounding, b), append(f.sides, (before+after)/2)
			unlike += math.Abs(before - after)
		}
	}
	return len(f.sounding) >= sinkFewest && unlike <= sinkAlikeDB*float64(len(f.sounding))
}

// depth is the least-squares one, by the shelf of a depth near it.
func (f *sinkFinder) depth(t int, nearDB float64) float64 {
	sum, weight := 0.0, 0.0
	f.shelves = f.shelves[:0]
	for i, b := range f.sounding {
		s := shelfRatio(f.bandsHz[b], nearDB)
		f.shelves = append(f.shelves, s)
		sum += s * f.loss(t, i)
		weight += s * s
	}
	return max(1, sum/weight)
}

// loss is that of a chosen band at t.
func (f *sinkFinder) loss(t, i int) float64 { return f.sides[i] - f.levels[t][f.sounding[i]] }

// lossOver is the mean loss of the chosen bands at t, over their shelf.
func (f *sinkFinder) lossOver(t int) (mean float64) {
	for i := range f.sounding {
		mean += f.loss(t, i) / f.shelves[i]
	}
	return mean / float64(len(f.sounding))
}

// mean is the level of a band over some hops.
func (f *sinkFinder) mean(from, to, band int) (sum float64) {
	for t := from; t < min(to, len(f.levels)); t++ {
		sum += f.levels[t][band]
	}
	return sum / float64(max(1, min(to, len(f.levels))-from))
}

// shelfRatio is the loss at a frequency over that of the lows: a shelf of
// second order from 1 to 2, its middle at the split.
func shelfRatio(freqHz, depthDB float64) float64 {
	apart := dsp.FromDB(depthDB / 4) // of pole and zero from the split
	pole, zero := freqHz/sinkSplitHz*apart, freqHz/sinkSplitHz/apart
	return 1 + dsp.PowerToDB((1+math.Pow(pole, 4))/(1+math.Pow(zero, 4)))/depthDB
}

// deepest are the deepest of those that overlap, in order.
func (f *sinkFinder) deepest(all []sink) (events []Event) {
	slices.SortStableFunc(all, func(a, b sink) int { return cmp.Compare(b.depthDB, a.depthDB) })
	var kept []sink
	for _, s := range all {
		overlaps := func(k sink) bool { return max(s.at-k.at, k.at-s.at) < s.half+k.half }
		if !slices.ContainsFunc(kept, overlaps) {
			kept = append(kept, s)
		}
	}
	slices.SortFunc(kept, func(a, b sink) int { return a.at - b.at })
	for _, k := range kept {
		events = append(events, Event{(k.at - k.half) * f.hop, 2 * k.half * f.hop, -k.depthDB})
	}
	return events
}
