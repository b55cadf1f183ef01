package measure

import (
	"fmt"
	"math"

	"strop/dsp"
)

// Loudness is what a LoudnessMeter has read.
//
//	IntegratedLUFS     gated over everything; −Inf where no 400 ms were above −70 LUFS
//	MaxMomentaryLUFS   loudest 400 ms
//	MaxShortTermLUFS   loudest 3 s
//	RangeLU            loudness range; NaN where no 3 s were above −70 LUFS
//
// The maxima take what is before the start as silence, so that they tell
// something of a sound shorter than their window. The range of less than a
// minute means little (EBU Tech 3341, 2.4).
type Loudness struct {
	IntegratedLUFS, MaxMomentaryLUFS, MaxShortTermLUFS, RangeLU float64
}

const (
	absoluteGateLUFS = -70 // BS.1770-5: a block counts if it is above
	integratedGateLU = -10 // of the mean of what passed the absolute gate
	rangeGateLU      = -20 // Tech 3342
	hopsPerSecond    = 100
	hopsPerTenth     = 10
	momentaryTenths  = 4
	shortTermTenths  = 30
	shortTermHops    = shortTermTenths * hopsPerTenth
	loudnessOffsetLU = -0.691 // BS.1770-5, makes 997 Hz read its level
	rangeLowPercent  = 10
	rangeHighPercent = 95
)

// LoudnessMeter measures loudness as it comes.
//
// Momentary and short-term windows, 400 ms and 3 s, move in hops of 10 ms;
// the gate sees a 400 ms block every 100 ms and the range a 3 s one. Where
// 10 ms are no whole number of frames a hop is rounded to one, without
// drifting. A last piece shorter than a hop is left out.
//
// Integrated loudness and range are kept as histograms of 0.01 LU, each cell
// with the sum of its energies: the mean is exact but for blocks within
// 0.01 LU of the relative gate, the range to 0.01 LU at either end, and an
// hour takes no more memory than a second, about 330 kB.
//
// Source: ITU-R BS.1770-5 (2023), Annex 1; EBU Tech 3341 and Tech 3342 (2023).
type LoudnessMeter struct {
	rateHz   float64
	channels int
	k        kWeight
	sum      dsp.Frame // squares in the hop so far
	frames   int       // in the hop so far
	hopLen   int
	windows  loudnessWindows
}

var _ dsp.Processor = (*LoudnessMeter)(nil)

// NewLoudnessMeter is a meter for frames at rateHz. With 1 channel only the
// left of a frame counts. It panics if channels is not 1 or 2, or the rate is
// outside dsp.MinRateHz to dsp.MaxRateHz.
func NewLoudnessMeter(rateHz float64, channels int) *LoudnessMeter {
	checkRate(rateHz)
	if channels != 1 && channels != 2 {
		panic(fmt.Sprintf("measure: a loudness meter of %d channels; take 1 or 2", channels))
	}
	m := &LoudnessMeter{rateHz: rateHz, channels: channels}
	m.windows = newLoudnessWindows()
	m.Reset()
	return m
}

// Reset forgets everything.
func (m *LoudnessMeter) Reset() {
	m.k = newKWeight(m.rateHz)
	m.sum, m.frames = dsp.Frame{}, 0
	m.windows.reset()
	m.hopLen = hopEnd(m.rateHz, 1)
}

// hopEnd is the frame at which the hop-th hop ends, counted from 1.
func hopEnd(rateHz float64, hop int) int { return int(float64(hop) * rateHz / hopsPerSecond) }

// Process reads buf and leaves it as it is.
func (m *LoudnessMeter) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), m.hopLen-m.frames)
		m.sum = m.k.energy(buf[:n], m.sum)
		m.frames += n
		buf = buf[n:]
		if m.frames == m.hopLen {
			m.endHop()
		}
	}
}

func (m *LoudnessMeter) endHop() {
	z := m.sum[0]
	if m.channels == 2 {
		z += m.sum[1]
	}
	m.windows.add(z * m.k.power / float64(m.frames))
	m.k.settle()
	m.sum, m.frames = dsp.Frame{}, 0
	done := m.windows.hops
	m.hopLen = hopEnd(m.rateHz, done+1) - hopEnd(m.rateHz, done)
}

// Result is the loudness of everything since Reset. More may follow.
func (m *LoudnessMeter) Result() Loudness { return m.windows.result() }

// Momentary is the loudness of the last 400 ms, in LUFS.
func (m *LoudnessMeter) Momentary() float64 { return loudnessLUFS(m.windows.momentary) }

// ShortTerm is the loudness of the last 3 s, in LUFS.
func (m *LoudnessMeter) ShortTerm() float64 { return loudnessLUFS(m.windows.shortTerm) }

// IntegratedLUFS is the gated loudness of a stereo clip, -Inf where nothing
// passes the gate: silence, or less than 400 ms.
func IntegratedLUFS(buf []dsp.Frame, rateHz float64) float64 {
	m := NewLoudnessMeter(rateHz, 2)
	m.Process(buf)
	return m.Result().IntegratedLUFS
}

// loudnessLUFS is the loudness of a K-weighted mean square, the channels
// added with their weights.
func loudnessLUFS(z float64) float64 { return loudnessOffsetLU + dsp.PowerToDB(z) }

// loudnessWindows makes momentary, short-term, integrated and range out of
// the K-weighted mean squares of hops of 10 ms, the channels added with their
// weights: 1 for left, right and centre, 1.41 for the surrounds (BS.1770-5,
// Table 3).
//
// The windows are sums of tenths of a second, the tenths sums of hops. They
// are added up anew each time, so that a loud passage leaves no rounding
// error behind in the silence after it.
type loudnessWindows struct {
	hops                       int                    // since reset
	hop                        [hopsPerTenth]float64  // the last hops
	tenth                      [shortTermHops]float64 // sums of the ten hops that end at each of the last hops
	momentary, shortTerm       float64                // mean squares
	maxMomentary, maxShortTerm float64
	blocks, spans              energyHistogram // of 400 ms, of 3 s
}

func newLoudnessWindows() loudnessWindows {
	return loudnessWindows{blocks: newEnergyHistogram(), spans: newEnergyHistogram()}
}

func (w *loudnessWindows) reset() {
	w.blocks.reset()
	w.spans.reset()
	*w = loudnessWindows{blocks: w.blocks, spans: w.spans}
}

func (w *loudnessWindows) add(z float64) {
	w.hop[w.hops%hopsPerTenth] = z
	sum := 0.0
	for _, z := range w.hop {
		sum += z
	}
	w.tenth[w.hops%shortTermHops] = sum
	w.momentary = w.mean(momentaryTenths)
	w.shortTerm = w.mean(shortTermTenths)
	w.maxMomentary = max(w.maxMomentary, w.momentary)
	w.maxShortTerm = max(w.maxShortTerm, w.shortTerm)
	w.hops++
	if w.hops%hopsPerTenth != 0 {
		return
	}
	if w.hops >= momentaryTenths*hopsPerTenth {
		w.blocks.add(w.momentary)
	}
	if w.hops >= shortTermHops {
		w.spans.add(w.shortTerm)
	}
}

// mean is the mean square of the last tenths of a second, up to the hop that
// has just come.
func (w *loudnessWindows) mean(tenths int) float64 {
	sum, at := 0.0, w.hops%shortTermHops
	for range tenths {
		sum += w.tenth[at]
		at -= hopsPerTenth
		if at < 0 {
			at += shortTermHops
		}
	}
	return sum / float64(tenths*hopsPerTenth)
}

func (w *loudnessWindows) result() Loudness {
	return Loudness{
		IntegratedLUFS:   w.integrated(),
		MaxMomentaryLUFS: loudnessLUFS(w.maxMomentary),
		MaxShortTermLUFS: loudnessLUFS(w.maxShortTerm),
		RangeLU:          w.rangeLU(),
	}
}

func (w *loudnessWindows) integrated() float64 {
	mean, _ := w.blocks.above(0)
	mean, _ = w.blocks.above(mean * math.Pow(10, integratedGateLU/10.0))
	return loudnessLUFS(mean)
}

func (w *loudnessWindows) rangeLU() float64 {
	mean, _ := w.spans.above(0)
	gate := mean * math.Pow(10, rangeGateLU/10.0)
	_, n := w.spans.above(gate)
	if n == 0 || math.IsNaN(gate) {
		return math.NaN()
	}
	low := w.spans.percentile(gate, n, rangeLowPercent)
	high := w.spans.percentile(gate, n, rangeHighPercent)
	return dsp.PowerToDB(high / low)
}
