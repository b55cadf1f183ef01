package saturation

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
)

var (
	bits   = dsp.Param{ID: "bits", Name: "bits", Min: 2, Max: 32, Neutral: 32, Scale: dsp.Whole}
	dither = dsp.Param{ID: "dither", Name: "dither", Min: 0, Max: 1, Neutral: 0, Scale: dsp.Whole}
)

// ditherSeed makes the dither the same in every render.
const ditherSeed = 0x5eed

// BitDepth rounds every sample to a coarser step.
//
//	bits    word length; the step is 2^(1−bits)                           2 to 32; 32 is neutral, its error below −180 dB
//	dither  1 adds triangular noise of ±1 step before rounding, 0 does not   0 or 1
//
// Rounding is to the nearest step, with a step at 0, and goes on beyond full
// scale. Without dither the error is distortion, of about −(6.02·bits + 1.76)
// dB under a full-scale sine; with it the error is noise that does not move
// with the signal, 4.77 dB louder. The channels' dither is independent, and
// the same in every render. No latency.
//
// Source: S. P. Lipshitz, R. A. Wannamaker, J. Vanderkooy, Quantization and
// dither: a theoretical survey, JAES 40(5) (1992).
var BitDepth = dsp.Spec{
	ID:     "bitdepth",
	Name:   "bit-depth reduction",
	Doc:    "Rounds every sample to a coarser step, with dither or without.",
	Source: "Lipshitz, Wannamaker & Vanderkooy, JAES 40(5), 1992",
	Params: []dsp.Param{bits, dither},
	Build: func(_ float64, s dsp.Setting) (dsp.Processor, error) {
		perStep := math.Exp2(s.Get(bits) - 1)
		if s.Get(dither) == 0 {
			return rounder(perStep), nil
		}
		return newDitherer(perStep), nil
	},
}

// rounder is how many steps there are per unit.
type rounder float64

var _ dsp.Processor = rounder(1)

// Reset does nothing: rounding has no memory.
func (r rounder) Reset() {}

// Process rounds buf in place.
func (r rounder) Process(buf []dsp.Frame) {
	perStep, step := float64(r), 1/float64(r)
	for i := range buf {
		buf[i][0] = math.RoundToEven(buf[i][0]*perStep) * step
		buf[i][1] = math.RoundToEven(buf[i][1]*perStep) * step
	}
}

// ditherer adds dither, then rounds.
type ditherer struct {
	perStep float64
	random  rand.PCG
}

var _ dsp.Processor = (*ditherer)(nil)

func newDitherer(perStep float64) *ditherer {
	d := &ditherer{perStep: perStep}
	d.Reset()
	return d
}

// Reset begins the dither anew.
func (d *ditherer) Reset() { d.random.Seed(ditherSeed, 0) }

// Process dithers and rounds buf in place.
func (d *ditherer) Process(buf []dsp.Frame) {
	perStep, step := d.perStep, 1/d.perStep
	for i := range buf {
		buf[i][0] = math.RoundToEven(buf[i][0]*perStep+triangular(d.random.Uint64())) * step
		buf[i][1] = math.RoundToEven(buf[i][1]*perStep+triangular(d.random.Uint64())) * step
	}
}

// triangular makes 64 random bits a number from −1 to 1 of triangular
// density: the difference of two even ones.
func triangular(word uint64) float64 {
	return (float64(word>>32) - float64(word&math.MaxUint32)) / (1 << 32)
}
