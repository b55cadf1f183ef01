package intake

import (
	"math"

	"strop/content/pcm"
	"strop/dsp"
	"strop/dsp/measure"
)

// What counts as silence, and what is looked at of the ends. Our own choices.
const (
	silentDBFS = -60.0
	windowS    = 0.1   // in which silence is told by its rms
	edgeS      = 0.005 // of head and tail
)

// levels are the meters that see every frame of a stem.
type levels struct {
	format  pcm.Format
	loud    *measure.LoudnessMeter
	peak    *measure.TruePeakMeter
	alike   measure.CorrelationMeter
	depth   depth
	overs   int
	empty   int64
	apart   float64 // greatest difference of the channels
	peaks   dsp.Frame
	seconds []float64

	n             int64
	window        int // frames
	power         float64
	silent, all   int64 // windows
	first, last   int64 // windows that sound; first is −1 where none has
	head          float64
	tail          []float64 // peaks of the last frames, in a ring
	stretchPeak   float64
	second        float64
	secondsFrames int
}

func newLevels(f pcm.Format) *levels {
	return &levels{
		format: f, loud: measure.NewLoudnessMeter(f.RateHz, f.Channels), peak: measure.NewTruePeakMeter(f.RateHz),
		window: max(1, int(windowS*f.RateHz)), first: -1, depth: depth{1, 1},
		tail: make([]float64, max(1, int(edgeS*f.RateHz))), secondsFrames: int(f.RateHz),
	}
}

// add takes the next frames of the stem.
func (l *levels) add(frames []dsp.Frame) {
	l.loud.Process(frames)
	l.peak.Process(frames)
	l.alike.Process(frames)
	l.stretchPeak = 0
	for _, f := range frames {
		l.frame(f)
	}
}

func (l *levels) frame(f dsp.Frame) {
	left, right := math.Abs(f[0]), math.Abs(f[1])
	peak := max(left, right)
	l.depth.see(f[0])
	if l.format.Channels == 2 {
		l.depth.see(f[1])
	}
	switch {
	case peak == 0:
		l.empty++
	case peak > 1:
		l.overs++
	}
	l.apart = max(l.apart, math.Abs(f[0]-f[1]))
	l.peaks = dsp.Frame{max(l.peaks[0], left), max(l.peaks[1], right)}
	l.stretchPeak = max(l.stretchPeak, peak)
	if l.n < int64(len(l.tail)) {
		l.head = max(l.head, peak)
	}
	l.tail[l.n%int64(len(l.tail))] = peak
	power := (f[0]*f[0] + f[1]*f[1]) / 2
	l.power += power
	l.second += power
	if l.n++; l.n%int64(l.window) == 0 {
		l.endWindow(l.window)
	}
	if l.n%int64(l.secondsFrames) == 0 {
		l.seconds = append(l.seconds, l.second)
		l.second = 0
	}
}

// endWindow tells whether a window of n frames was silent.
func (l *levels) endWindow(n int) {
	if dsp.PowerToDB(l.power/float64(n)) <= silentDBFS {
		l.silent++
	} else {
		if l.last = l.all; l.first < 0 {
			l.first = l.all
		}
	}
	l.all++
	l.power = 0
}

// tell puts the results into a finding.
func (l *levels) tell(f *finding) {
	if rest := int(l.n % int64(l.window)); rest > 0 {
		l.endWindow(rest)
	}
	truePeak, samplePeak := l.peak.Result()
	f.SamplePeakDBFS, f.TruePeakDBTP = measure.Level(samplePeak), measure.Level(truePeak)
	f.IntegratedLUFS = measure.Level(l.loud.Result().IntegratedLUFS)
	f.OverSamples, f.BitsUsed, f.seconds = l.overs, l.depth.used(), l.seconds
	f.SilentPct = 100 * float64(l.silent) / float64(max(l.all, 1))
	f.EmptyPct = 100 * float64(l.empty) / float64(max(l.n, 1))
	if l.all == 0 {
		f.SilentPct, f.EmptyPct = 100, 100
	}
	if l.first >= 0 {
		windowS := float64(l.window) / l.format.RateHz
		f.FirstS, f.LastS = float64(l.first)*windowS, math.Min(float64(l.last+1)*windowS, float64(l.n)/l.format.RateHz)
	}
	last := 0.0
	for _, peak := range l.tail {
		last = max(last, peak)
	}
	f.HeadDBFS, f.TailDBFS = levelOf(l.head), levelOf(last)
	if l.format.Channels == 2 {
		f.Correlation, f.OneSignal = l.alike.Result(), l.apart <= l.rounding() && l.peaks[0] > 0
		f.oneSided = (l.peaks[0] == 0) != (l.peaks[1] == 0)
	}
}

// rounding is how far two channels of the same may lie apart: three steps of
// their samples, as dither of each by itself leaves them.
func (l *levels) rounding() float64 {
	if l.format.Bits == 0 || l.format.Codec == "float" {
		return 0
	}
	return 3 * math.Ldexp(1, 1-l.format.Bits)
}

// depth finds how many bits samples need: the least for which each is a whole
// number of steps.
type depth struct {
	bits  int     // so far; more than 32 is given up
	scale float64 // 2^(bits−1), steps to full scale
}

func (d *depth) see(x float64) {
	for d.bits <= 32 {
		if steps := x * d.scale; steps == math.Trunc(steps) {
			return
		}
		d.bits++
		d.scale *= 2
	}
}

// used is how many, 0 where more than 32.
func (d *depth) used() int {
	if d.bits > 32 {
		return 0
	}
	return d.bits
}
