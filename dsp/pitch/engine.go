package pitch

import (
	"math"

	"strop/dsp"
)

// An engine plays a stream at one speed and lets its time go at another, what
// lasts through a vocoder and what strikes through a splicer.
type engine struct {
	pass  float64 // frames of input that go by for each that comes out
	read  float64 // frames of input that sound in each: the ratio of pitches
	split *splitter
	voc   *vocoder
	strum *splicer

	kernel    *kernel
	lasting   history // as it was
	striking  history
	resampled history // lasting, as it will sound
	made      int     // frames of resampled since the beginning
	taken     int     // of which the middle of the last window was one
	step      int     // the number of the next window; the middle of number 0 is at the first frame
	first     int     // the number of the first window that holds any sound
	lead      int     // frames of input needed after the middle of a window
}

// windowFrames is the length of the vocoder's windows, a power of two, at least
// 0.16 s.
func windowFrames(rateHz float64) int {
	n := 1 << 10
	for float64(n) < 0.16*rateHz {
		n *= 2
	}
	return n
}

// Times of an engine with windows of n frames that come in both processes and
// functions: how far ahead of the middle of a window it must have heard.
func lead(n int, read float64) int {
	return int(math.Ceil(read*float64(n/2+2))) + quick.reach(read) + 3
}

// spliceParts is how often in a hop a splice may begin.
const spliceParts = 8

// newEngine reads read frames of input in each of output while pass go by.
func newEngine(rateHz, read, pass float64) *engine {
	n := windowFrames(rateHz)
	e := &engine{read: read, pass: pass, split: newSplitter(n / 8), voc: newVocoder(n), kernel: newKernel(quick, read), lead: lead(n, read)}
	e.strum = newSplicer(rateHz, e.kernel, read, pass, e.voc.hop/spliceParts)
	e.first = -int(math.Ceil(4 * read / pass))
	span := e.lead + int(pass*float64(n)) - 2*floor(e.time(e.first)) + 4*e.strum.margin() + e.split.delay() + 2*n
	e.lasting, e.striking = newHistory(span), newHistory(span)
	e.resampled = newHistory(int(float64(span)/read) + n)
	e.reset()
	return e
}

func (e *engine) hop() int { return e.voc.hop }

func (e *engine) reset() {
	e.split.reset()
	e.voc.reset()
	e.step = e.first
	e.taken = e.middle(e.first - 1)
	e.made = e.middle(e.first) - e.voc.n/2
	e.resampled.reset(e.made, e.made)
	// Before the beginning there was silence.
	comes, start := -e.split.delay(), e.time(e.first)
	e.lasting.reset(min(floor(float64(e.made)*e.read)-e.kernel.half-1, comes), comes)
	e.striking.reset(min(floor(start)-e.strum.margin(), comes), comes)
	e.strum.reset(start)
}

// middle is the frame of resampled in the middle of window number step.
func (e *engine) middle(step int) int {
	return int(math.Round(float64(step*e.voc.hop) * e.pass / e.read))
}

// time is the time, in frames of input, of the first frame that window number
// step finishes: half a window before its middle.
func (e *engine) time(step int) float64 { return e.pass * float64(step*e.voc.hop-e.voc.n/2) }

// ready reports whether enough has been pushed to pull.
func (e *engine) ready() bool {
	return e.lasting.end() >= int(math.Ceil(e.pass*float64(e.step*e.voc.hop)))+e.lead
}

// push takes hop frames of input.
func (e *engine) push(in []dsp.Frame) {
	for len(in) > 0 {
		n := e.split.hop
		e.split.split(in[:n], e.lasting.grow(n), e.striking.grow(n))
		in = in[n:]
	}
	e.resample()
}

// resample makes all that can be made of what lasts.
func (e *engine) resample() {
	most := floor(float64(e.lasting.end()-e.kernel.half-1) / e.read)
	if most > e.made {
		e.lasting.run(e.resampled.grow(most-e.made), e.kernel, float64(e.made)*e.read, e.read)
		e.made = most
	}
	e.lasting.drop(floor(float64(e.made)*e.read) - e.kernel.half - 1)
}

// pull writes the next hop frames of output; strikes is work space of as many.
func (e *engine) pull(out, strikes []dsp.Frame) {
	window, hop := e.window()
	e.voc.set(window, hop, out)
	e.strike(strikes)
	together(out, strikes)
	e.next()
}

// window is what the vocoder sets down next, and how many frames after the one
// before it lies. It is valid until next.
func (e *engine) window() (window []dsp.Frame, hop int) {
	n, middle := e.voc.n, e.middle(e.step)
	hop = middle - e.taken
	e.taken = middle
	return e.resampled.from(middle - n/2)[:n], hop
}

// strike writes what strikes of the next hop frames of output. The vocoder may
// be at work meanwhile.
func (e *engine) strike(out []dsp.Frame) {
	clear(out)
	hop := e.voc.hop
	for part := hop / spliceParts; len(out) > 0; out = out[part:] {
		done := hop - len(out)
		e.strum.sound(&e.striking, e.time(e.step)+e.pass*float64(done), out[:part])
	}
}

// together adds what strikes to what lasts.
func together(out, strikes []dsp.Frame) {
	for i, x := range strikes {
		out[i][0] += x[0]
		out[i][1] += x[1]
	}
}

// next goes on to the next hop.
func (e *engine) next() {
	e.step++
	e.resampled.drop(e.taken - e.voc.n/2)
	e.striking.drop(floor(e.time(e.step)) - e.strum.margin())
}
