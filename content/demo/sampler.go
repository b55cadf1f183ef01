package demo

import (
	"math"
	"math/rand/v2"
	"sync"

	"strop/dsp"
	"strop/dsp/kaiser"
)

// kernel interpolates between samples: a sinc under a Kaiser window, 2·half
// taps at each of kernelPhases+1 places between two samples. Between places
// the taps are interpolated linearly, which at 512 places errs by −116 dB.
//
// At β = 9 and 48 taps a tone up to 18 kHz keeps its level within 0.05 dB, and
// what it leaves besides itself is 80 dB below it or less; a rate above 1
// lowers the cut-off and lengthens the window in proportion, so that nothing
// folds back.
//
// Source: Smith & Gossett, A Flexible Sampling-Rate Conversion Method (1984);
// Kaiser window by its definition (both from memory).
type kernel struct {
	half int
	taps [][]float64
}

const (
	kernelPhases = 512
	kernelBeta   = 9
	kernelHalf   = 24
)

// newKernel is a kernel of 2·half taps with its cut-off at cutoff times half
// the sample rate.
func newKernel(cutoff float64, half int, beta float64) *kernel {
	k := &kernel{half: half, taps: make([][]float64, kernelPhases+1)}
	for p := range k.taps {
		taps, sum := make([]float64, 2*k.half), 0.0
		for i := range taps {
			x := float64(i-k.half+1) - float64(p)/kernelPhases
			taps[i] = sinc(cutoff*x) * kaiser.Window(x/float64(k.half), beta)
			sum += taps[i]
		}
		for i := range taps {
			taps[i] /= sum // constant input stays constant
		}
		k.taps[p] = taps
	}
	return k
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// read fills dst with x from a place on, rate apart; x is silent outside.
func (k *kernel) read(dst, x []float64, place, rate float64) {
	taps := 2 * k.half
	for i := range dst {
		at := place + float64(i)*rate
		first := int(at) - k.half + 1
		if at < 0 || first < 0 || first+taps > len(x) {
			dst[i] = k.at(x, at)
			continue
		}
		phase := (at - float64(int(at))) * kernelPhases
		p := min(int(phase), kernelPhases-1)
		dst[i] = between(x[first:first+taps], k.taps[p], k.taps[p+1], phase-float64(p))
	}
}

// at is the value of x at place, in samples; x is silent outside.
func (k *kernel) at(x []float64, place float64) float64 {
	whole := math.Floor(place)
	phase := (place - whole) * kernelPhases
	p := min(int(phase), kernelPhases-1)
	near, far := k.taps[p], k.taps[p+1]
	first := int(whole) - k.half + 1
	lo, hi := max(0, -first), min(2*k.half, len(x)-first)
	if lo >= hi {
		return 0
	}
	return between(x[first+lo:first+hi], near[lo:hi], far[lo:hi], phase-float64(p))
}

// between is x under taps that lie between two sets of them. The sums over
// both run side by side, and are mixed last.
func between(x, near, far []float64, share float64) float64 {
	if share == 0 {
		return under(x, near)
	}
	near, far = near[:len(x)], far[:len(x)]
	var n0, n1, f0, f1 float64
	i := 0
	for ; i < len(x)-3; i += 4 {
		a, b, c := x[i:i+4:i+4], near[i:i+4:i+4], far[i:i+4:i+4]
		n0 += b[0]*a[0] + b[1]*a[1]
		f0 += c[0]*a[0] + c[1]*a[1]
		n1 += b[2]*a[2] + b[3]*a[3]
		f1 += c[2]*a[2] + c[3]*a[3]
	}
	for ; i < len(x); i++ {
		n0 += near[i] * x[i]
		f0 += far[i] * x[i]
	}
	sum := n0 + n1
	return sum + share*(f0+f1-sum)
}

// under is x under one set of taps.
func under(x, taps []float64) float64 {
	taps = taps[:len(x)]
	var a, b, c, d float64
	i := 0
	for ; i < len(x)-3; i += 4 {
		v, w := x[i:i+4:i+4], taps[i:i+4:i+4]
		a += w[0] * v[0]
		b += w[1] * v[1]
		c += w[2] * v[2]
		d += w[3] * v[3]
	}
	for ; i < len(x); i++ {
		a += taps[i] * x[i]
	}
	return a + b + (c + d)
}

// kernels are made once for each cut-off, a quarter tone apart. Several
// sources may share them.
type kernels struct {
	lock   sync.Mutex
	byStep map[int]*kernel
}

// A recording that ends at darkHz leaves so much room below its images, which
// begin at 38 kHz, that a third of the taps holds them 80 dB down. Played up to
// darkRate times as fast, nothing of it comes near half the sample rate.
const (
	darkHz   = 10000
	darkRate = 2
	darkHalf = 8
	darkStep = -1 // among the kernels
)

// forRate is the kernel with which a sample that ends at limitHz, 0 where it
// does not, may be played rate times as fast.
func (ks *kernels) forRate(rate, limitHz float64) *kernel {
	ks.lock.Lock()
	defer ks.lock.Unlock()
	step := max(0, int(math.Ceil(24*math.Log2(rate)-1e-9)))
	cutoff := math.Exp2(-float64(step) / 24)
	half := int(math.Ceil(kernelHalf / cutoff))
	if limitHz > 0 && limitHz <= darkHz && rate <= darkRate {
		step, cutoff, half = darkStep, 1, darkHalf
	}
	if ks.byStep == nil {
		ks.byStep = map[int]*kernel{}
	}
	if ks.byStep[step] == nil {
		ks.byStep[step] = newKernel(cutoff, half, kernelBeta)
	}
	return ks.byStep[step]
}

// strike is one note of one sample.
type strike struct {
	sample  track
	limitHz float64 // at which the sample ends, 0 where it does not
	start   float64 // frame at which it begins, a fraction too
	stop    float64 // frame at which it is damped; +Inf lets it ring
	rate    float64 // samples per frame: 2 is an octave up
	ratio   float64
	softHz  float64 // cut-off of a first-order low-pass: softer is duller
}

// dampS is the time in which a damped note falls by 1/e.
const dampS = 0.03

// A recording that was cut begins and ends with fades, as an editor lays them;
// else it would click.
const (
	fadeInFrames  = 24  // 0.5 ms
	fadeOutFrames = 240 // 5 ms
)

// fade lays both fades over x, the frames of a strike of n from one on.
func fade(x []float64, from, n int) {
	for i := range x {
		at := from + i
		if at < fadeInFrames {
			x[i] *= raised(float64(at+1) / (fadeInFrames + 1))
		}
		if left := n - at; left <= fadeOutFrames {
			x[i] *= raised(float64(left) / (fadeOutFrames + 1))
		}
	}
}

// raised is a raised cosine from 0 to 1.
func raised(share float64) float64 { return 0.5 - 0.5*math.Cos(math.Pi*share) }

// addTo plays the strike into dst. Where dst has one channel more than the
// sample, the last channel of the sample goes to both.
func (v strike) addTo(dst track, ks *kernels) {
	first := max(int(math.Ceil(v.start)), 0)
	frames := int(float64(len(v.sample[0])) / v.rate)
	if !math.IsInf(v.stop, 1) {
		frames = min(frames, int(v.stop)-first+int(12*dampS*rateHz)) // 104 dB down by then
	}
	k := ks.forRate(v.rate, v.limitHz)
	for c := range dst {
		to := min(len(dst[c]), first+frames)
		if to > first {
			v.addChannel(dst[c][first:to], float64(first), frames, v.sample[min(c, len(v.sample)-1)], k)
		}
	}
}

// snap moves the strike to a whole frame and to a rate, within 1.9 cents, at
// which every place lies on a set of taps: it takes half the work, and nobody
// hears it of a drum.
func (v *strike) snap() {
	v.start = math.Round(v.start)
	v.rate = math.Round(v.rate*kernelPhases) / kernelPhases
}

// addChannel plays x, frames long if dst does not end before. at is the place
// of dst.
func (v strike) addChannel(dst []float64, at float64, frames int, x []float64, k *kernel) {
	smooth, fall := math.Exp(-2*math.Pi*v.softHz/rateHz), math.Exp(-1/(dampS*rateHz))
	low, damp, open := 0.0, v.ratio, 1-smooth
	var buf [512]float64
	for n := 0; n < len(dst); {
		played := buf[:min(len(buf), len(dst)-n)]
		k.read(played, x, (at-v.start)*v.rate, v.rate)
		fade(played, n, frames)
		for i, in := range played {
			if at > v.stop {
				damp *= fall
			}
			low = smooth*low + open*in
			dst[n+i] += damp * low
			at++
		}
		n += len(played)
	}
}

// How one strike differs from the next, as a ratio of rates. Common practice,
// no source.
const (
	kitRate    = 0.02   // of one take's drums from another's
	strikeRate = 0.01   // of a hit
	pitchRate  = 0.0006 // of a note: 1 cent
)

// playSamples plays hits and notes.
func (r *rendering) playSamples(src *sourceScore, dst track, events []event, chance *rand.Rand) error {
	kit := 1 + kitRate*(2*chance.Float64()-1)
	for _, e := range events {
		drum, shift := src.kind == "hits" && !src.tuned, float64(r.shift)
		if drum {
			shift = 0
		}
		snd, rate, err := src.find(e.name, shift)
		if err != nil {
			return err
		}
		spread := pitchRate
		if drum {
			spread, rate = strikeRate, rate*kit
		}
		path := snd.samples[chance.IntN(len(snd.samples))]
		sample, err := r.samples.get(path)
		if err != nil {
			return err
		}
		v := strike{
			sample: sample.channel(src.side), limitHz: bankLimitHz(path),
			start: e.start, stop: e.stop,
			rate:   rate * (1 + spread*(2*chance.Float64()-1)),
			ratio:  dsp.FromDB(e.levelDB),
			softHz: 20000 * dsp.FromDB(min(e.levelDB, 0)), // half an octave lower for 3 dB softer
		}
		if drum {
			v.snap()
		}
		v.addTo(dst, &r.kernels)
	}
	return nil
}

// samples are decoded when a source first strikes them. Several sources may
// share them.
type samples struct {
	lock   sync.Mutex
	byPath map[string]func() (track, error)
}

func (s *samples) get(path string) (track, error) {
	s.lock.Lock()
	if s.byPath == nil {
		s.byPath = map[string]func() (track, error){}
	}
	read := s.byPath[path]
	if read == nil {
		read = sync.OnceValues(func() (track, error) { return readSample(path) })
		s.byPath[path] = read
	}
	s.lock.Unlock()
	return read()
}
