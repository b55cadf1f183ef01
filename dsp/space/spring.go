package space

import (
	"math"
	"math/bits"
	"math/cmplx"
	"math/rand/v2"

	"strop/dsp"
	"strop/dsp/fourier"
)

var springDecay = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 1.5, Max: 3, Neutral: 2, Scale: dsp.Log}

// Spring is the sound of a tank of three springs: every click comes back as a
// chirp, again and again. Parameters are those of Hall, with a decay from 1.5 s;
// latency is the same.
//
// A wave runs through a spring once in τ0/√(1 − (f/f0)²), τ0 from 33 to 41 ms,
// f0 = 4.5 kHz, and is thrown back at both ends with a loss that gives the
// decay that is set. The sum of all passages is a geometric series at each
// frequency,
//
//	H(f) = e^(−iφ)/(1 + r·e^(−2iφ)),  φ = 2π·τ0·f0·asin(f/f0),  r = 10^(−6τ(f)/T(f))
//
// Above 4 kHz there is nothing. Every coil scatters a little: φ wanders by a
// random part, which makes each return denser.
//
// Source: V. Välimäki, J. Parker, J. S. Abel, Parametric spring reverberation
// effect, JAES 58(7/8) (2010), for chirps, their limit and the echoes. Differs
// from it in: the delay's law, and that it is made in the frequency domain.
var Spring = reverbSpec(dsp.Spec{
	ID:     "spring",
	Name:   "spring",
	Doc:    "Adds the reverb of a tank of springs.",
	Source: "V. Välimäki, J. Parker, J. S. Abel, Parametric spring reverberation effect, JAES 58(7/8), 2010",
	Params: []dsp.Param{springDecay, bassParam, trebleParam},
}, func(rateHz float64, s dsp.Setting) (*Response, error) {
	decayS, bass, treble := s.Get(springDecay), s.Get(bassParam), s.Get(trebleParam)
	return fourPaths(0x5f<<8+uint64(s.Get(seedParam)), func(_, _ int, seed uint64) []float64 {
		return springPath(seed, rateHz, decayS, bass, treble)
	}), nil
})

const (
	springTopHz  = 4500.0
	springPassHz = 4000.0
)

func springPath(seed uint64, rateHz, decayS, bass, treble float64) []float64 {
	longest := decayS * max(bass, 1) * tailEndDB / 60
	n := 1 << bits.Len(uint(longest*rateHz))
	re, im, x := make([]float64, n/2+1), make([]float64, n/2+1), make([]float64, n)
	r := rand.New(rand.NewPCG(seed, 0x5f1))
	for _, transitS := range [3]float64{0.033, 0.037, 0.041} {
		addSpring(re, im, r, rateHz/float64(n), transitS*(0.97+0.06*r.Float64()), decayS, bass, treble)
	}
	fourier.NewFFT(n).Inverse(x, re, im)
	h := x[:min(n, int(longest*rateHz))]
	fadeOut(h, rateHz)
	return h
}

// addSpring adds one spring to a spectrum.
func addSpring(re, im []float64, r *rand.Rand, binHz, transitS, decayS, bass, treble float64) {
	wander, target, step := 0.0, 0.0, 0
	for k := 1; float64(k)*binHz < min(springPassHz*1.1, springTopHz) && k < len(re)-1; k++ {
		freqHz := float64(k) * binHz
		if step--; step < 0 {
			step = int(scatterHz / binHz)
			target = (2*r.Float64() - 1) * scatterRad
		}
		drift := (target - wander) * 4 * binHz / scatterHz
		wander += drift
		turn := freqHz / springTopHz
		lateS := transitS/math.Sqrt(1-turn*turn) + drift/(2*math.Pi*binHz)
		phase := 2*math.Pi*transitS*springTopHz*math.Asin(turn) + wander
		loss := math.Pow(10, -6*lateS/decayAt(freqHz, decayS, bass, treble))
		h := cmplx.Rect(springShape(freqHz), -phase) / (1 + complex(loss, 0)*cmplx.Rect(1, -2*phase))
		re[k] += real(h)
		im[k] += imag(h)
	}
}

const (
	scatterHz  = 40.0
	scatterRad = 1.0
)

// springShape lets through 60 Hz to 4 kHz.
func springShape(freqHz float64) float64 {
	return sine2(unit(freqHz/60)) * sine2(unit((springPassHz*1.1-freqHz)/(0.2*springPassHz)))
}
