package fault

import (
	"math"

	"strop/dsp"
)

// listener follows a voice in hops of 5 ms, by the power of both channels
// together: where it begins, where it pauses, what is a sibilant. It knows the
// last heardHops of them.
type listener struct {
	hop, at  int // frames of a hop, and into it
	body     section
	mid, top [2]section
	work     []dsp.Frame
	now      heard
	ring     [heardHops]heard
	count    int // hops since reset
	loud     float64
	fade     float64 // of loud, a hop
	since    int     // hops since the last onset
}

// heard is what was heard in a hop.
//
//	power, peak  above 120 Hz, where bursts of breath against a microphone end
//	mid, top     power of 0.2 to 2 kHz and above 5 kHz
type heard struct{ power, peak, mid, top float64 }

const (
	heardHops  = 192 // 0.96 s
	hopS       = 0.005
	bodyHz     = 120
	midLoHz    = 200
	midHiHz    = 2000
	topHz      = 5000
	loudFadeDB = 3.0 // a second
	leastPower = 1e-7
	voiceRange = 0.01  // −20 dB under the loudest: a voice is there
	pauseRange = 0.003 // −25 dB: it pauses
)

// In an onset the power of 20 ms is so much over that of the 40 ms before.
const (
	onsetRise  = 10.0
	onsetHops  = 4
	beforeHops = 8
	onsetApart = 40 // hops: 200 ms from one to the next
)

func newListener(rateHz float64) listener {
	hop := int(math.Round(hopS * rateHz))
	l := listener{
		hop: hop, body: highPass(rateHz, bodyHz, butterworthQ),
		mid:  [2]section{highPass(rateHz, midLoHz, butterworthQ), lowPass(rateHz, midHiHz, butterworthQ)},
		top:  [2]section{highPass(rateHz, topHz, steepQ[0]), highPass(rateHz, topHz, steepQ[1])},
		work: make([]dsp.Frame, hop), fade: math.Pow(10, -loudFadeDB/10*hopS),
	}
	l.reset()
	return l
}

func (l *listener) reset() {
	l.body.reset()
	for i := range l.mid {
		l.mid[i].reset()
		l.top[i].reset()
	}
	l.at, l.count, l.loud, l.since = 0, 0, 0, onsetApart
	l.now, l.ring = heard{}, [heardHops]heard{}
}

// room is how many frames the hop still takes.
func (l *listener) room() int { return l.hop - l.at }

// hear listens to buf, no more than there is room for, and reports whether that
// completed a hop.
func (l *listener) hear(buf []dsp.Frame) bool {
	work := l.work[:len(buf)]
	copy(work, buf)
	l.body.process(work)
	for _, f := range work {
		l.now.power += f[0]*f[0] + f[1]*f[1]
		l.now.peak = max(l.now.peak, math.Abs(f[0]), math.Abs(f[1]))
	}
	l.now.mid = through(work, buf, &l.mid, l.now.mid)
	l.now.top = through(work, buf, &l.top, l.now.top)
	if l.at += len(buf); l.at < l.hop {
		return false
	}
	l.complete()
	return true
}

// through adds to sum the squares of buf through two sections, one after the
// other: so the sum does not depend on how a hop is split.
func through(work, buf []dsp.Frame, sections *[2]section, sum float64) float64 {
	copy(work, buf)
	sections[0].process(work)
	sections[1].process(work)
	for _, f := range work {
		sum += f[0]*f[0] + f[1]*f[1]
	}
	return sum
}

func (l *listener) complete() {
	n := 2 * float64(l.hop)
	l.now.power, l.now.mid, l.now.top = l.now.power/n, l.now.mid/n, l.now.top/n
	l.ring[l.count%heardHops] = l.now
	l.count++
	l.since++
	l.at, l.now = 0, heard{}
	l.loud = max(l.loud*l.fade, l.mean(onsetHops-1, onsetHops))
}

// back is what was heard n hops before the last, silence before the first.
func (l *listener) back(n int) *heard {
	return &l.ring[(l.count-1-n+2*heardHops)%heardHops]
}

// mean is the power of so many hops, the first of them n before the last.
func (l *listener) mean(n, hops int) (sum float64) {
	for i := range hops {
		sum += l.back(n-i).power / float64(hops)
	}
	return sum
}

// onset reports whether a voice begins n hops before the last, n at least
// onsetHops−1, and notes it.
func (l *listener) onset(n int) bool {
	before, after := l.mean(n+beforeHops, beforeHops), l.mean(n, onsetHops)
	if l.since < onsetApart || !(after > onsetRise*before && l.back(n).power > onsetRise/2*before) ||
		!(after > l.loud*voiceRange && after > leastPower) {
		return false
	}
	l.since = 0
	return true
}

// sibilant reports whether the hop n before the last is one.
func (l *listener) sibilant(n int) bool {
	h := l.back(n)
	return h.top > sibilantRatio*h.mid && h.top > l.loud*sibilantRange && h.top > leastPower
}

// sibilantRatio is that of the top to the middle from which a sound is a
// sibilant; vowels lie 20 dB and more below. Common practice, no source.
const (
	sibilantRatio = 0.5
	sibilantRange = 1e-4 // −40 dB
)

// pauses is how many hops, the first of them n before the last and the others
// before that, a voice has paused.
func (l *listener) pauses(n int) (hops int) {
	for n < min(heardHops, l.count) && l.back(n).power < l.loud*pauseRange {
		hops, n = hops+1, n+1
	}
	return hops
}
