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

// at is the value of x at place, in samples; x is silent outside. The sums
// over both neighbouring sets of taps run side by side, and are mixed last.
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
	near, far, x = near[lo:hi], far[lo:hi], x[first+lo:first+hi]
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
	return sum + (phase-float64(p))*(f0+f1-sum)
}

// kernels are made once for each cut-off, a quarter tone apart. Several
// sources may share them.
type kernels struct {
	lock   sync.Mutex
	byStep map[int]*kernel
}

// forRate is the kernel with which a sample may be played rate times as fast.
func (ks *kernels) forRate(rate float64) *kernel {
	ks.lock.Lock()
	defer ks.lock.Unlock()
	step := max(0, int(math.Ceil(24*math.Log2(rate)-1e-9)))
	if ks.byStep[step] == nil {
		if ks.byStep == nil {
			ks.byStep = map[int]*kernel{}
		}
		cutoff := math.Exp2(-float64(step) / 24)
		ks.byStep[step] = newKernel(cutoff, int(math.Ceil(kernelHalf/cutoff)), kernelBeta)
	}
	return ks.byStep[step]
}

// strike is one note of one sample.
type strike struct {
	sample track
	start  float64 // frame at which it begins, a fraction too
	stop   float64 // frame at which it is damped; +Inf lets it ring
	rate   float64 // samples per frame: 2 is an octave up
	ratio  float64
	softHz float64 // cut-off of a first-order low-pass: softer is duller
}

// dampS is the time in which a damped note falls by 1/e.
const dampS = 0.03

// addTo plays the strike into dst. Where dst has one channel more than the
// sample, the last channel of the sample goes to both.
func (v strike) addTo(dst track, ks *kernels) {
	first := max(int(math.Ceil(v.start)), 0)
	frames := int(float64(len(v.sample[0])) / v.rate)
	if !math.IsInf(v.stop, 1) {
		frames = min(frames, int(v.stop)-first+int(12*dampS*rateHz)) // 104 dB down by then
	}
	k := ks.forRate(v.rate)
	for c := range dst {
		to := min(len(dst[c]), first+frames)
		if to > first {
			v.addChannel(dst[c][first:to], float64(first), v.sample[min(c, len(v.sample)-1)], k)
		}
	}
}

// addChannel plays x. at is the place of dst.
func (v strike) addChannel(dst []float64, at float64, x []float64, k *kernel) {
	smooth, fall := math.Exp(-2*math.Pi*v.softHz/rateHz), math.Exp(-1/(dampS*rateHz))
	low, damp := 0.0, v.ratio
	for i := range dst {
		if at > v.stop {
			damp *= fall
		}
		in := k.at(x, (at-v.start)*v.rate)
		low = in + smooth*(low-in)
		dst[i] += damp * low
		at++
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
func (src *sourceScore) playSamples(dst track, events []event, t take, ks *kernels, r *rand.Rand) error {
	bank, err := src.bank()
	if err != nil {
		return err
	}
	kit := 1 + kitRate*(2*r.Float64()-1)
	for _, e := range events {
		shift := float64(t.shift)
		if src.kind == "hits" && !src.tuned {
			shift = 0
		}
		snd, rate, err := src.find(e.name, shift)
		if err != nil {
			return err
		}
		spread := pitchRate
		if shift == 0 && src.kind == "hits" && !src.tuned {
			spread, rate = strikeRate, rate*kit
		}
		strike{
			sample: bank[snd.samples[r.IntN(len(snd.samples))]].channel(src.side),
			start:  e.start, stop: e.stop,
			rate:   rate * (1 + spread*(2*r.Float64()-1)),
			ratio:  dsp.FromDB(e.levelDB),
			softHz: 20000 * dsp.FromDB(min(e.levelDB, 0)), // half an octave lower for 3 dB softer
		}.addTo(dst, ks)
	}
	return nil
}

// bank is every sample that the source uses.
func (src *sourceScore) bank() (bank map[string]track, err error) {
	bank = map[string]track{}
	for _, snd := range src.sounds {
		for _, path := range snd.samples {
			if bank[path], err = readSample(path); err != nil {
				return nil, err
			}
		}
	}
	return bank, nil
}
