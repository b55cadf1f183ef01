// Package dynamics holds the processors whose gain follows the signal.
package dynamics

import (
	"math"

	"strop/dsp"
)

var (
	limiterCeiling   = dsp.Param{ID: "ceilingDBTP", Name: "ceiling", Unit: "dBTP", Min: -20, Max: 0, Neutral: 0}
	limiterLookahead = dsp.Param{ID: "lookaheadMS", Name: "look-ahead", Unit: "ms", Min: 0.5, Max: 10, Neutral: 2, Scale: dsp.Log}
	limiterRelease   = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 1000, Neutral: 100, Scale: dsp.Log}
)

// Limiter keeps true peaks under a ceiling: the last processor before an
// output.
//
//	ceilingDBTP  the greatest true peak let through              −20 to 0 dBTP
//	lookaheadMS  time in which the gain comes down to a peak     0.5 to 10 ms
//	releaseMS    time in which a reduction falls to 37 %         10 to 1000 ms
//
// Both channels share one gain. What stays under the ceiling passes unchanged,
// to the bit, lookaheadMS and 30 frames later; a ceiling of 0 is neutral to all
// that a converter can play. Never is a sample above the ceiling; the curve
// between samples is held to it within 0.1 dB for what lies under 0.46 of the
// rate (above, reconstruction filters themselves disagree). No make-up gain.
//
// A sample that is not a number, or beyond ±1e15, is a fault upstream and
// leaves as silence, for what follows may be an ear.
//
// The curve is found at 8 places per sample and by parabola between them; the
// reduction it asks for is held over the look-ahead, then smoothed by a
// triangle of the same length and of sum 1, so that it has arrived in full when
// the peak does.
//
// Source: D. Giannoulis, M. Massberg, J. D. Reiss, Digital dynamic range
// compressor design, JAES 60(6) (2012) for the feed-forward form; ITU-R
// BS.1770-5 (2023) Annex 2 for the true peak. Hold, triangle in whole numbers
// and parabola are our own arrangement.
var Limiter = dsp.Spec{
	ID:     "limiter",
	Name:   "true-peak limiter",
	Doc:    "Keeps true peaks under a ceiling without a step in gain.",
	Source: "Giannoulis, Massberg & Reiss, JAES 60(6), 2012; ITU-R BS.1770-5 Annex 2, 2023",
	Params: []dsp.Param{limiterCeiling, limiterLookahead, limiterRelease},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		return newLimiter(rateHz, s.Get(limiterCeiling), s.Get(limiterLookahead), s.Get(limiterRelease)), nil
	},
}

const (
	margin   = 2       // frames on each side of a peak over which the gain rests
	unit     = 1 << 40 // a whole reduction, as a number for the boxcars
	sensible = 1e15    // more than this is a fault, not a signal
)

type limiter struct {
	ip      *interpolator
	ceiling float64
	quiet   float64 // a curve that stays under this asks for nothing
	fall    float64 // what is left of a reduction after a frame of release
	delay   int
	scale   float64 // makes the second boxcar's sum a reduction

	line     []dsp.Frame // what came in, at least reach·2+delay frames back from at
	at       int
	bends    [3]float64 // greatest second differences: these, the last and the last but one reach frames
	bent     int
	before   [2]float64 // the curve's last place, of each channel
	hold     hold
	released float64
	first    boxcar
	second   boxcar
}

var (
	_ dsp.Processor = (*limiter)(nil)
	_ dsp.Delayer   = (*limiter)(nil)
)

func newLimiter(rateHz, ceilingDBTP, lookaheadMS, releaseMS float64) *limiter {
	look := max(2, int(math.Round(lookaheadMS*rateHz/1000)))
	a := (look + 1) / 2
	b := look + 1 - a
	l := &limiter{
		ip:      newInterpolator(),
		ceiling: dsp.FromDB(ceilingDBTP),
		quiet:   dsp.FromDB(ceilingDBTP) * parabolic,
		fall:    math.Exp(-1000 / (releaseMS * rateHz)),
		delay:   reach + look + margin,
		scale:   1 / (float64(a) * float64(b) * unit),
		hold:    newHold(look + 2*margin + 2),
		first:   newBoxcar(a),
		second:  newBoxcar(b),
	}
	l.line = make([]dsp.Frame, 2*l.span()+512)
	l.at = l.span()
	return l
}

// span is how many frames back from the newest the limiter looks.
func (l *limiter) span() int { return l.delay + 2*reach }

// DelayFrames is the look-ahead and what the interpolation needs.
func (l *limiter) DelayFrames() int { return l.delay }

// Reset forgets what it heard.
func (l *limiter) Reset() {
	clear(l.line)
	l.at = l.span()
	l.bends, l.bent, l.before, l.released = [3]float64{}, 0, [2]float64{}, 0
	l.hold.reset()
	l.first.reset()
	l.second.reset()
}

// Process limits buf in place.
func (l *limiter) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		if l.at == len(l.line) {
			l.at = copy(l.line, l.line[l.at-l.span():])
		}
		if l.bent == reach {
			l.bent = 0
			l.bends = [3]float64{0, l.bends[0], l.bends[1]}
		}
		n := 0
		if l.idle() {
			n = l.pass(buf[:min(len(buf), len(l.line)-l.at, reach-l.bent)])
		}
		if n == 0 {
			buf[0] = l.limit(buf[0])
			n = 1
		}
		buf = buf[n:]
	}
}

// idle reports that no reduction is at work or on its way.
func (l *limiter) idle() bool {
	return l.hold.used == 0 && l.released == 0 && l.first.sum == 0 && l.second.sum == 0
}

// pass delays the frames at the start of buf that plainly need no reduction,
// and returns how many they are. It does what limit would do, sooner.
func (l *limiter) pass(buf []dsp.Frame) int {
	in, out := l.line[l.at-2:][:len(buf)+2], l.line[l.at-l.delay:][:len(buf)]
	middle := l.line[l.at-reach:][:len(buf)+1]
	bend, older, quiet, curvature := l.bends[0], greater(l.bends[1], l.bends[2]), l.quiet, l.ip.curvature
	from, n := size(middle[0][0], middle[0][1]), 0
	for ; n < len(buf); n++ {
		left, right := sane(buf[n][0]), sane(buf[n][1])
		in[n+2][0], in[n+2][1] = left, right
		to := size(middle[n+1][0], middle[n+1][1])
		bent := greater(bend, size(in[n][0]-2*in[n+1][0]+left, in[n][1]-2*in[n+1][1]+right))
		if greater(from, to)+curvature*greater(bent, older) > quiet {
			break
		}
		buf[n][0], buf[n][1] = out[n][0], out[n][1]
		from, bend = to, bent
	}
	if n > 0 {
		l.before = [2]float64{}
	}
	l.at, l.bent, l.bends[0] = l.at+n, l.bent+n, bend
	return n
}

// limit takes one frame in and gives one out.
func (l *limiter) limit(x dsp.Frame) dsp.Frame {
	l.line[l.at] = dsp.Frame{sane(x[0]), sane(x[1])}
	ratio := 1 - l.smooth(l.wanted())
	out := l.line[l.at-l.delay]
	l.at++
	l.bent++
	return dsp.Frame{out[0] * ratio, out[1] * ratio}
}

func sane(x float64) float64 {
	if math.Abs(x) <= sensible {
		return x
	}
	return 0
}

// size is the greater of two absolute values.
func size(left, right float64) float64 { return greater(math.Abs(left), math.Abs(right)) }

// greater is max for numbers that are numbers: it need not mind NaN and −0,
// and takes a third of the time.
func greater(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}

// wanted is the reduction that the newest complete interval asks for.
//
// bends are kept by stretches of reach frames, so they look back no less far
// than the taps.
func (l *limiter) wanted() float64 {
	window := (*[2 * reach]dsp.Frame)(l.line[l.at-2*reach+1:])
	x, y, z := &window[2*reach-3], &window[2*reach-2], &window[2*reach-1]
	l.bends[0] = greater(l.bends[0], size(x[0]-2*y[0]+z[0], x[1]-2*y[1]+z[1]))
	bend := greater(l.bends[0], greater(l.bends[1], l.bends[2]))
	from, to := &window[reach-1], &window[reach]
	if greater(size(from[0], from[1]), size(to[0], to[1]))+l.ip.curvature*bend <= l.quiet {
		l.before = [2]float64{}
		return 0
	}
	left, right := l.ip.between(window)
	peak := max(left.peak(l.before[0], l.quiet), right.peak(l.before[1], l.quiet))
	l.before = [2]float64{left[places-1], right[places-1]}
	if peak <= l.ceiling {
		return 0
	}
	return 1 - l.ceiling/peak
}

// smooth holds, releases and smooths the wanted reductions. Whole numbers
// keep the running sums exact: no reduction is ever lost, and none is left
// over.
func (l *limiter) smooth(wanted float64) float64 {
	held := l.hold.next(wanted)
	l.released *= l.fall
	if l.released < 0.5/unit {
		l.released = 0
	}
	l.released = max(l.released, held)
	if l.idle() {
		return 0 // the boxcars hold nothing but zeros
	}
	n := int64(math.Ceil(l.released * unit))
	return float64(l.second.next(l.first.next(n))) * l.scale
}
