package dynamics

import (
	"math"

	"strop/dsp"
)

// A Reducer tells what its gain has done to the sound, which no setting tells.
type Reducer interface {
	// ReductionDB is the reduction of gain since Reset in dB: its mean over
	// all frames and both channels, and the value farthest from 0. A gain that
	// was raised counts below 0. Make-up and parallel mix are not part of it.
	// Not to be called while Process runs.
	ReductionDB() (mean, most float64)
}

// meter is the Reducer of every processor here.
type meter struct {
	sum, most float64 // doublings
	n         int
}

// ReductionDB is 0, 0 before the first frame.
func (m *meter) ReductionDB() (mean, most float64) {
	return m.sum / float64(max(m.n, 1)) * doublingDB, m.most * doublingDB
}

func (m *meter) reset() { *m = meter{} }

func (m *meter) read(reductions []float64) {
	sum, most := m.sum, m.most
	for _, r := range reductions {
		sum += r
		if math.Abs(r) > math.Abs(most) {
			most = r
		}
	}
	m.sum, m.most, m.n = sum, most, m.n+len(reductions)
}

// gains replaces reductions by the ratios of gain: dry + wet·2^−reduction.
func gains(reductions []float64, dry, wet float64) {
	for i, r := range reductions {
		reductions[i] = dry + wet*exp2(-r)
	}
}

// both multiplies both channels by one gain.
func both(buf []dsp.Frame, gain []float64) {
	gain = gain[:len(buf)]
	for i, g := range gain {
		buf[i][0] *= g
		buf[i][1] *= g
	}
}

// each multiplies each channel by its own gain.
func each(buf []dsp.Frame, left, right []float64) {
	left, right = left[:len(buf)], right[:len(buf)]
	for i := range buf {
		buf[i][0] *= left[i]
		buf[i][1] *= right[i]
	}
}

// readBoth is read for channels of different gain: of each frame the mean,
// and the greater for the most.
func (m *meter) readBoth(left, right []float64) {
	sum, most := m.sum, m.most
	for i, l := range left {
		r := right[i]
		sum += (l + r) / 2
		most = greater(most, greater(l, r))
	}
	m.sum, m.most, m.n = sum, most, m.n+len(left)
}
