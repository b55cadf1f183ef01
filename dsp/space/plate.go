package space

import (
	"math"

	"strop/dsp"
	"strop/dsp/fourier"
)

var plateDecay = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.5, Max: 3, Neutral: 1.6, Scale: dsp.Log}

// Plate is the sound of a steel plate: dense from the first moment, the high
// frequencies first. Parameters and latency are those of Hall, with a decay from
// 0.5 s.
//
// Bending waves run through a plate of 0.5 mm at 2·√(1.8·c·h·f), c = 5100 m/s,
// h the thickness, as a group; each octave begins when they have come 1.2 m. The
// first to arrive is the click itself, drawn out by that law.
//
// Source: L. Cremer, M. Heckl, Structure-Borne Sound (1973), for the bending
// waves (from memory); decaying noise as in Hall.
var Plate = reverbSpec(dsp.Spec{
	ID:     "plate",
	Name:   "plate",
	Doc:    "Adds the reverb of a steel plate.",
	Source: "L. Cremer, M. Heckl, Structure-Borne Sound, 1973; J. A. Moorer, Computer Music Journal 3(2), 1979",
	Params: []dsp.Param{plateDecay, bassParam, trebleParam},
}, func(rateHz float64, s dsp.Setting) (*Response, error) {
	t := tail{rateHz: rateHz, decaysS: decaysOf(s, plateDecay), riseS: 0.001, levels: evenly(1)}
	for b := range t.startS {
		t.startS[b] = plateWayM / bendingMPS(BandHz(b))
	}
	return fourPaths(0x91a7<<8+uint64(s.Get(seedParam)), func(_, _ int, seed uint64) []float64 {
		return t.path(seed, firstWave(rateHz))
	}), nil
})

const (
	plateWayM   = 1.2
	plateThickM = 0.0005
	steelMPS    = 5100
	firstRatio  = 10.0 // of the first wave, against noise of 1
)

// bendingMPS is the group velocity of bending waves.
func bendingMPS(freqHz float64) float64 { return 2 * math.Sqrt(1.8*steelMPS*plateThickM*freqHz) }

// firstWave is a click that has gone through the plate: of even spectrum from
// 80 Hz to 16 kHz, every frequency late by its own way.
//
//	phase = 2π·∫ way/velocity df = 2π·2·f·way/velocity
func firstWave(rateHz float64) []float64 {
	n := 1
	for float64(n) < 0.1*rateHz {
		n *= 2
	}
	re, im, x := make([]float64, n/2+1), make([]float64, n/2+1), make([]float64, n)
	for k := 1; k < n/2; k++ {
		freqHz := float64(k) * rateHz / float64(n)
		ratio := firstRatio * unit((math.Log2(freqHz/80) + 0.5)) * unit(0.5-math.Log2(freqHz/16000))
		sin, cos := math.Sincos(-2 * math.Pi * 2 * freqHz * plateWayM / bendingMPS(freqHz))
		re[k], im[k] = ratio*cos, ratio*sin
	}
	fourier.NewFFT(n).Inverse(x, re, im)
	return x
}
