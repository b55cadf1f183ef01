package measure

import (
	"math"

	"strop/dsp"
)

const (
	peakBlock  = 512 // frames looked through at a time
	peakGroup  = 16  // frames that share a bound
	peakGroups = (interpolatorTaps + peakBlock) / peakGroup
	peakSpan   = interpolatorTaps / peakGroup // groups under the taps, besides the first
)

// TruePeakMeter finds the highest point of the waveform that the samples
// stand for, between them as well as on them, of either channel.
//
// Up to 96 kHz seven points are interpolated between any two samples, above
// it three. What is read is low by no more than the distance to the nearest
// point allows: 0.14 dB at 0.45 of the rate, 0.03 dB at 0.2. Before the first
// frame and after the last there is silence.
//
// Between most samples nothing is interpolated, for it can be shown that no
// point there would exceed the peak so far (interpolator.bound). The result
// is the same to the last bit.
// Source: ITU-R BS.1770-5 (2023), Annex 2; the interpolator is longer than
// the one printed there, which is up to 0.3 dB off.
type TruePeakMeter struct {
	in     interpolator
	peak   float64 // magnitude, interpolated
	sample float64 // magnitude, samples only
	held   int     // frames of the block in window
	window [interpolatorTaps + peakBlock]dsp.Frame
	levels [peakGroups]float64 // greatest magnitude in each group of window
	bends  [peakGroups]float64 // greatest second difference
	all    bool                // interpolate everywhere: for tests
}

var _ dsp.Processor = (*TruePeakMeter)(nil)

// NewTruePeakMeter is a meter for frames at rateHz. It panics at a rate
// outside dsp.MinRateHz to dsp.MaxRateHz.
func NewTruePeakMeter(rateHz float64) *TruePeakMeter {
	checkRate(rateHz)
	factor := 8
	if rateHz > 96000 {
		factor = 4
	}
	return &TruePeakMeter{in: newInterpolator(factor)}
}

// Reset forgets everything.
func (m *TruePeakMeter) Reset() { *m = TruePeakMeter{in: m.in, all: m.all} }

// Process reads buf and leaves it as it is.
func (m *TruePeakMeter) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := copy(m.window[interpolatorTaps+m.held:], buf)
		m.held += n
		buf = buf[n:]
		if m.held == peakBlock {
			m.scan()
			copy(m.window[:interpolatorTaps], m.window[peakBlock:])
			copy(m.levels[:peakSpan], m.levels[peakGroups-peakSpan:])
			copy(m.bends[:peakSpan], m.bends[peakGroups-peakSpan:])
			m.held = 0
		}
	}
}

// Result is the highest true peak and the highest sample since Reset, -Inf
// where all was 0. More may follow.
func (m *TruePeakMeter) Result() (truePeakDBTP, samplePeakDBFS float64) {
	var quiet [peakBlock + interpolatorTaps]dsp.Frame
	end := *m
	end.Process(quiet[:])
	return dsp.ToDB(end.peak), dsp.ToDB(end.sample)
}

// TruePeakDBTP is the true peak of a clip, -Inf for silence.
func TruePeakDBTP(buf []dsp.Frame, rateHz float64) float64 {
	m := NewTruePeakMeter(rateHz)
	m.Process(buf)
	truePeakDBTP, _ := m.Result()
	return truePeakDBTP
}

// SamplePeakDBFS is the level of the largest sample of either channel, -Inf
// for silence.
func SamplePeakDBFS(buf []dsp.Frame) float64 {
	peak := 0.0
	for i := range buf {
		peak = max(peak, math.Abs(buf[i][0]), math.Abs(buf[i][1]))
	}
	return dsp.ToDB(peak)
}

// scan raises peak and sample by what is in a full window. The s-th stretch,
// between two samples, is interpolated from the frames s+1 to s+taps; its two
// ends are in the middle of those.
func (m *TruePeakMeter) scan() {
	for g := peakSpan; g < peakGroups; g++ {
		m.levels[g], m.bends[g] = extremes(&m.window, g*peakGroup)
		m.sample = max(m.sample, m.levels[g])
	}
	m.peak = max(m.peak, m.sample)
	for g := range peakGroups - peakSpan {
		level := max(m.levels[g], m.levels[g+1], m.levels[g+2], m.levels[g+3])
		bend := max(m.bends[g], m.bends[g+1], m.bends[g+2], m.bends[g+3])
		room := m.in.bound(level, bend)
		if m.all || !(max(m.levels[g+1], m.levels[g+2])+room <= m.peak) {
			m.interpolate(g*peakGroup, room)
		}
	}
}

// interpolate raises peak by what is in the stretches of a group, the first of
// them start, where points may exceed their neighbours by room.
func (m *TruePeakMeter) interpolate(start int, room float64) {
	for s := start; s < start+peakGroup; s++ {
		x := (*[interpolatorTaps]dsp.Frame)(m.window[s+1:])
		a, b := &x[interpolatorTaps/2-1], &x[interpolatorTaps/2]
		ends := max(math.Abs(a[0]), math.Abs(a[1]), math.Abs(b[0]), math.Abs(b[1]))
		if m.all || !(ends+room <= m.peak) {
			m.peak = max(m.peak, m.in.highest(x))
		}
	}
}

// extremes are the greatest magnitude in the group that starts at frame i,
// and the greatest second difference that ends there. Magnitudes compare as
// their bits do, NaN above all.
func extremes(window *[interpolatorTaps + peakBlock]dsp.Frame, i int) (level, bend float64) {
	const sign = 1 << 63
	a, b := window[i-2], window[i-1]
	dl, dr := b[0]-a[0], b[1]-a[1]
	l, r := b[0], b[1]
	var levelBits, bendBits uint64
	for _, f := range (*[peakGroup]dsp.Frame)(window[i:]) {
		el, er := f[0]-l, f[1]-r
		levelBits = max(levelBits, math.Float64bits(f[0])&^sign, math.Float64bits(f[1])&^sign)
		bendBits = max(bendBits, math.Float64bits(el-dl)&^sign, math.Float64bits(er-dr)&^sign)
		l, r, dl, dr = f[0], f[1], el, er
	}
	return math.Float64frombits(levelBits), math.Float64frombits(bendBits)
}
