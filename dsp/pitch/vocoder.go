package pitch

import (
	"math"
	"math/bits"

	"strop/dsp"
	"strop/dsp/fourier"
)

// A vocoder sets windows of sound down hop frames apart that were taken up some
// other number of frames apart, and turns the phase of every bin so that they
// go on from one another.
//
// A bin is turned so that it advances as it did, by as much more as the hops
// differ, if it is taken from the window before; or so that it lies to its
// neighbour as it did, likewise, if it is taken from there. Which of the two is
// decided by level: the loudest of all bins whose phase is known, in the window
// before and in this one, tells its next bins first. So tones go on in time,
// and the bins of a stroke stay together. Levels are told apart to 0.4 dB. Bins
// 100 dB below the loudest tell nobody; those that nobody tells go with their
// neighbour.
//
// Both channels are turned alike, by what they do together: the phase between
// them is kept.
//
// The window is the four-term one of Blackman and Harris, whose side lobes are
// 92 dB down, so that no bin has a phase that is not that of a tone near it.
//
// Source: Z. Průša, N. Holighaus, Phase vocoder done right, EUSIPCO (2017),
// with differences in place of centred derivatives; F. J. Harris, Proc. IEEE 66
// (1978), for the window (both from memory).
type vocoder struct {
	n, hop  int
	window  []float64
	fft     *fourier.Complex
	now     spectra
	before  spectra
	turns   []float64 // by bin: by how much it is turned, in whole turns
	leaps   []float64 // by bin: by how much more it has to advance from the window before
	rises   []float64 // by bin: by how much more the phase has to rise to the next
	known   []bool
	queue   queue
	work    [4][]float64
	out     []dsp.Frame // windows set down so far, from the first frame that is not whole
	loudest int         // bucket of the loudest bin of the window in hand
}

// newVocoder works on windows of n frames, a power of two, and sets them down
// n/8 frames apart.
func newVocoder(n int) *vocoder {
	bins := n/2 + 1
	v := &vocoder{
		n: n, hop: n / 8, window: make([]float64, n), fft: fourier.NewComplex(n), now: newSpectra(bins), before: newSpectra(bins),
		turns: make([]float64, bins), leaps: make([]float64, bins), rises: make([]float64, bins-1), known: make([]bool, bins), queue: newQueue(2 * bins), out: make([]dsp.Frame, n),
	}
	for i := range v.window {
		w := 2 * math.Pi * float64(i) / float64(n)
		v.window[i] = 0.35875 - 0.48829*math.Cos(w) + 0.14128*math.Cos(2*w) - 0.01168*math.Cos(3*w)
	}
	copy(v.work[:], fourier.Apart(4, n))
	return v
}

// leastTold is how many buckets below the loudest bin those are that still tell
// others how to turn: 100 dB.
const leastTold = 33 << 3

func (v *vocoder) reset() {
	clear(v.out)
	clear(v.turns)
	v.now.reset()
	v.before.reset()
}

// set sets a window of n frames down that was taken up hop frames after the one
// before, and writes hop finished frames to out: the first of them was n/2 frames
// before the middle of the window.
func (v *vocoder) set(x []dsp.Frame, hop int, out []dsp.Frame) {
	v.now, v.before = v.before, v.now
	v.analyse(x)
	if hop != v.hop {
		v.integrate(hop)
		v.turn()
	}
	v.synthesise()
	copy(out[:v.hop], v.out)
	copy(v.out, v.out[v.hop:])
	clear(v.out[v.n-v.hop:])
}

func (v *vocoder) analyse(x []dsp.Frame) {
	xr, xi, re, im := v.work[0], v.work[1], v.work[2], v.work[3]
	seen(xr, xi, v.window, x)
	v.fft.Transform(re, im, xr, xi)
	v.loudest = int(v.now.take(re, im))
}

// integrate finds the turns of the window in hand, from 1 to n/2 − 1: the bins
// at the ends are real, and stay.
func (v *vocoder) integrate(hop int) {
	bins, last := len(v.turns), len(v.turns)-1
	more := float64(v.hop)/float64(hop) - 1
	turnsFrom(v.leaps, &v.now, &v.before, 0)
	leaps(v.leaps, hop, v.hop, v.n)
	turnsFrom(v.rises, &v.now, &v.now, 1)
	rises(v.rises, more)
	v.queue.fill(v.before.level[1:last], v.loudest)
	clear(v.known)
	v.known[0], v.known[last] = true, true
	for {
		i := v.queue.pop()
		switch {
		case i < 0:
			if v.seed() {
				continue
			}
			v.rest()
			return
		case i < bins-2:
			if k := i + 1; !v.known[k] {
				v.turns[k] = v.turns[k] + v.leaps[k]
				v.tell(k)
			}
		default:
			k := i - (bins - 2)
			if !v.known[k+1] {
				v.turns[k+1] = v.turns[k] + v.rises[k]
				v.tell(k + 1)
			}
			if !v.known[k-1] {
				v.turns[k-1] = v.turns[k] - v.rises[k-1]
				v.tell(k - 1)
			}
		}
	}
}

// tell puts a bin of the window in hand in the queue, its turn being known,
// unless it is too faint to tell others.
func (v *vocoder) tell(k int) {
	v.known[k] = true
	if level := v.now.level[k]; int(level) >= v.loudest-leastTold {
		v.queue.push(int32(len(v.turns)-2+k), level)
	}
}

// rest turns the bins that nobody has told, from the lowest on: each lies to the
// one below as it did.
func (v *vocoder) rest() {
	turn := 0.0
	for k, rise := range v.rises[:len(v.turns)-2] {
		turn += rise
		if v.known[k+1] {
			turn = v.turns[k+1]
		}
		v.turns[k+1] = turn
	}
}

// seed leaves the loudest bin as it is, if nothing is known yet: there was
// silence before.
func (v *vocoder) seed() bool {
	last := len(v.turns) - 1
	for k := 1; k < last; k++ {
		if int(v.now.level[k]) == v.loudest && !v.known[k] {
			v.turns[k] = 0
			v.tell(k)
			return true
		}
	}
	return false
}

// turn turns the spectrum in work. The one in now stays, for the next window.
func (v *vocoder) turn() {
	last := v.n / 2
	turned(v.work[2], v.work[3], v.turns[:last], &v.now)
}

// synthesise transforms the spectrum in work back and overlaps it. Squared
// windows n/8 apart add up to 8·(a0² + ½(a1² + a2² + a3²)) at every frame.
func (v *vocoder) synthesise() {
	xr, xi, re, im := v.work[0], v.work[1], v.work[2], v.work[3]
	v.fft.Transform(xi, xr, im, re) // exchanged: backwards
	const sum = 8 * (0.35875*0.35875 + (0.48829*0.48829+0.14128*0.14128+0.01168*0.01168)/2)
	overlapped(v.out, v.window, 1/(sum*float64(v.n)), xr, xi)
}

// A queue gives the numbers that were put in, those with the highest level
// first: a list for each level.
type queue struct {
	head [buckets]int32
	next []int32
	used [buckets / 64]uint64 // which lists are not empty
	top  int                  // no word of used above it holds any
}

func newQueue(items int) queue {
	return queue{next: make([]int32, items)}
}

// fill empties the queue, and puts the numbers from 0 in that have a level, and
// one not too far below the loudest.
func (q *queue) fill(levels []int32, loudest int) {
	clear(q.used[:])
	q.top = 0
	least := int32(max(loudest-leastTold, 1))
	for i, level := range levels {
		if level >= least {
			q.push(int32(i), level)
		}
	}
}

func (q *queue) push(i, level int32) {
	word, bit := int(level>>6), uint64(1)<<(level&63)
	if q.used[word]&bit == 0 {
		q.head[level] = -1
		q.used[word] |= bit
		q.top = max(q.top, word)
	}
	q.next[i], q.head[level] = q.head[level], i
}

// pop is -1 when none is left.
func (q *queue) pop() int {
	for q.used[q.top] == 0 {
		if q.top == 0 {
			return -1
		}
		q.top--
	}
	level := q.top<<6 + 63 - bits.LeadingZeros64(q.used[q.top])
	i := q.head[level]
	q.head[level] = q.next[i]
	if q.next[i] < 0 {
		q.used[q.top] &^= 1 << (level & 63)
	}
	return int(i)
}
