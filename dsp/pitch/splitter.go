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
	around []float64 // the powers of the spectrum in hand; beyond either end they go back
	inTime []float64 // by bin, and one beyond either end: the median of the powers of all of past
	above  []int64   // by bin: how many of the powers around pass what a stroke has to
	masks  []float64
	work   [4][]float64
}

// spectrum is that of both channels, the left real and the right imaginary.
type spectrum struct{ re, im, power []float64 }

const (
	acrossTime = 9  // spectra, half a window apart: 96 ms at 48 kHz
	acrossFreq = 17 // bins: 800 Hz
	beside     = acrossFreq / 2
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
	bins := n/2 + 1
	s.around, s.inTime, s.above, s.masks = make([]float64, bins+2*beside), make([]float64, bins+2), make([]int64, bins), make([]float64, bins)
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

// analyse transforms the newest window.
func (s *splitter) analyse() {
	s.newest = (s.newest + 1) % acrossTime
	x, y := s.work[0], s.work[1]
	seen(x, y, s.window, s.in)
	c := &s.past[s.newest]
	s.fft.Transform(c.re, c.im, x, y)
	for k := range c.power {
		mirror := (s.n - k) & (s.n - 1)
		c.power[k] = c.re[k]*c.re[k] + c.im[k]*c.im[k] + c.re[mirror]*c.re[mirror] + c.im[mirror]*c.im[mirror]
	}
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
	overlapped(s.hits, s.window, 1/float64(s.n), x, y)
}

// mask fills the masks, and reports whether any is above 0. A median passes a
// number where more than half do: the medians along frequency are sought only
// where they matter.
func (s *splitter) mask(power []float64) (any bool) {
	s.compare(power)
	var row [acrossFreq]float64 // the powers around bin at, in order
	at := -2
	for k, n := range s.above {
		s.masks[k] = 0
		if n <= beside {
			continue
		}
		if around := s.around[k:]; at == k-1 {
			exchange(row[:], s.around[at], around[acrossFreq-1])
		} else {
			order(row[:], around[:acrossFreq])
		}
		at = k
		if power[k] > faint*row[acrossFreq-1] {
			s.masks[k] = min(1, (math.Sqrt(row[beside]/s.lasts(k))-1.5)/1.5)
			any = true
		}
	}
	return any
}

// compare fills around, inTime and above.
func (s *splitter) compare(power []float64) {
	last := len(power) - 1
	copy(s.around[beside:], power)
	for i := 1; i <= beside; i++ {
		s.around[beside-i] = power[min(i, last)]
		s.around[beside+last+i] = power[max(last-i, 0)]
	}
	inTime := s.inTime[1:][:len(power)]
	mediansInTime(inTime, &s.past)
	s.inTime[0], s.inTime[last+2] = inTime[0], inTime[last]
	done := 0
	if vectors && len(power) >= 4 {
		done = len(power) &^ 3
		above4(&s.above[0], &s.around[0], &s.inTime[0], done)
	}
	for k := done; k < len(power); k++ {
		s.above[k] = passing(s.around[k:][:acrossFreq], 2.25*s.lasts(k))
	}
}

// passing is how many powers pass another. Once more than half do not it stops.
func passing(row []float64, least float64) (n int64) {
	for i, p := range row {
		if p > least {
			n++
		} else if i-int(n) >= len(row)/2 {
			break
		}
	}
	return n
}

// lasts is the power that lasts in a bin.
func (s *splitter) lasts(k int) float64 { return max(s.inTime[k], s.inTime[k+1], s.inTime[k+2]) }
