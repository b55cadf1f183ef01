package pitch

import (
	"math"

	"strop/dsp"
	"strop/dsp/fourier"
)

// A splitter parts a stream into what lasts and what strikes. In a spectrogram
// a tone is a line along time, a stroke a line along frequency; the median along
// either direction removes the other. A bin belongs to the strokes as far as
// its median along frequency passes that along time:
//
//	mask = (P/H − 1.5)/1.5, held within 0 and 1, on magnitudes
//
// H is the greatest of the bin and the two beside it, for a tone leaves narrow
// gaps between the side lobes of the window.
//
// The levels are those of both channels together, so that both are parted
// alike. What lasts is the rest: together the two are the input, to rounding.
// A steady tone has nothing that strikes.
//
// Source: D. FitzGerald, Harmonic/percussive separation using median filtering,
// DAFx-10 (2010); J. Driedger, M. Müller, S. Ewert, Improving time-scale
// modification of music signals using harmonic-percussive separation, IEEE SPL
// 21(1) (2014), for the use and the separation factor (both from memory).
type splitter struct {
	n, hop int
	window []float64
	fft    *fourier.Complex
	in     []dsp.Frame // the last n frames of input
	wait   history     // input until its strokes are known
	hits   []dsp.Frame // strokes being overlapped

	past   [acrossTime]spectrum // in a ring
	newest int
	inTime []float64 // by bin: the powers of all of past, in order
	masks  []float64
	work   [4][]float64
}

// spectrum is that of both channels, the left real and the right imaginary.
type spectrum struct{ re, im, power []float64 }

const (
	acrossTime = 9  // spectra, half a window apart: 96 ms at 48 kHz
	acrossFreq = 17 // bins: 800 Hz
	overlap    = 2
	faint      = 1e-4 // of the greatest power around: below lies what the window makes of a tone
)

// newSplitter looks through windows of n frames, a power of two.
func newSplitter(n int) *splitter {
	s := &splitter{n: n, hop: n / overlap, window: make([]float64, n), fft: fourier.NewComplex(n), in: make([]dsp.Frame, n), hits: make([]dsp.Frame, n)}
	for i := range s.window {
		sin := math.Sin(math.Pi * (float64(i) + 0.5) / float64(n))
		s.window[i] = math.Sin(math.Pi / 2 * sin * sin)
	}
	for i := range s.past {
		a := fourier.Apart(2, n)
		s.past[i] = spectrum{a[0], a[1], make([]float64, n/2+1)}
	}
	copy(s.work[:], fourier.Apart(4, n))
	s.inTime, s.masks = make([]float64, (n/2+1)*acrossTime), make([]float64, n/2+1)
	s.wait = newHistory(s.delay() + s.hop)
	s.reset()
	return s
}

// delay is how many frames later the parts come.
func (s *splitter) delay() int { return splitterDelay(s.n) }

func splitterDelay(n int) int { return n - n/overlap + acrossTime/2*n/overlap }

func (s *splitter) reset() {
	clear(s.in)
	clear(s.hits)
	clear(s.inTime)
	s.wait.reset(-s.delay(), 0)
	for i := range s.past {
		clear(s.past[i].re)
		clear(s.past[i].im)
		clear(s.past[i].power)
	}
	s.newest = 0
}

// split takes hop frames in, and gives as many of either part.
func (s *splitter) split(in, lasting, striking []dsp.Frame) {
	copy(s.in, s.in[s.hop:])
	copy(s.in[s.n-s.hop:], in)
	copy(s.wait.grow(s.hop), in)
	s.analyse()
	s.strike()
	copy(striking, s.hits[:s.hop])
	copy(s.hits, s.hits[s.hop:])
	clear(s.hits[s.n-s.hop:])
	for i, x := range s.wait.frames[:s.hop] {
		lasting[i] = dsp.Frame{x[0] - striking[i][0], x[1] - striking[i][1]}
	}
	s.wait.drop(s.wait.base + s.hop)
}

// analyse transforms the newest window and sorts its powers in.
func (s *splitter) analyse() {
	s.newest = (s.newest + 1) % acrossTime
	x, y := s.work[0], s.work[1]
	for i, f := range s.in {
		x[i], y[i] = s.window[i]*f[0], s.window[i]*f[1]
	}
	c := &s.past[s.newest]
	s.fft.Transform(c.re, c.im, x, y)
	for k := range c.power {
		mirror := (s.n - k) & (s.n - 1)
		power := c.re[k]*c.re[k] + c.im[k]*c.im[k] + c.re[mirror]*c.re[mirror] + c.im[mirror]*c.im[mirror]
		exchange((*[acrossTime]float64)(s.inTime[k*acrossTime:])[:], c.power[k], power)
		c.power[k] = power
	}
}

// exchange takes old out of a sorted row and puts another number in. A row that
// has held what is not a number is set right by reset alone.
func exchange(sorted []float64, old, new float64) {
	i := 0
	for i < len(sorted)-1 && sorted[i] != old {
		i++
	}
	for ; i > 0 && sorted[i-1] > new; i-- {
		sorted[i] = sorted[i-1]
	}
	for ; i < len(sorted)-1 && sorted[i+1] < new; i++ {
		sorted[i] = sorted[i+1]
	}
	sorted[i] = new
}

// strike adds the strokes of the spectrum in the middle of past.
func (s *splitter) strike() {
	c := &s.past[(s.newest+acrossTime-acrossTime/2)%acrossTime]
	if !s.mask(c.power) {
		return
	}
	re, im, x, y := s.work[0], s.work[1], s.work[2], s.work[3]
	for k, m := range s.masks {
		mirror := (s.n - k) & (s.n - 1)
		re[k], im[k] = m*c.re[k], m*c.im[k]
		re[mirror], im[mirror] = m*c.re[mirror], m*c.im[mirror]
	}
	s.fft.Transform(y, x, im, re) // exchanged: backwards
	scale := 1 / float64(s.n)
	for i := range s.hits {
		w := scale * s.window[i]
		s.hits[i][0] += w * x[i]
		s.hits[i][1] += w * y[i]
	}
}

// mask fills the masks, and reports whether any is above 0.
func (s *splitter) mask(power []float64) (any bool) {
	var row [acrossFreq]float64 // the powers around bin k, in order; beyond either end it goes back
	const side = acrossFreq / 2
	last := len(power) - 1
	for k := -2 * side; k <= last; k++ {
		old := 0.0
		if k > 0 {
			old = power[reflected(k-side-1, last)]
		}
		exchange(row[:], old, power[reflected(k+side, last)])
		if k < 0 {
			continue
		}
		p, h := row[side], max(s.median(max(k-1, 0)), s.median(k), s.median(min(k+1, last)))
		m := 0.0
		if p > 2.25*h && power[k] > faint*row[acrossFreq-1] {
			m = min(1, (math.Sqrt(p/h)-1.5)/1.5)
			any = true
		}
		s.masks[k] = m
	}
	return any
}

// median is that of the powers of a bin along time.
func (s *splitter) median(k int) float64 { return s.inTime[k*acrossTime+acrossTime/2] }

// reflected is k, or as far within 0 and last as k lies beyond.
func reflected(k, last int) int {
	if k < 0 {
		return -k
	}
	return last - max(last-k, k-last)
}
