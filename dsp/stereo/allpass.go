package stereo

import (
	"fmt"
	"math"
	"math/cmplx"

	"strop/dsp"
)

var (
	allPassFreq   = dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 200, Scale: dsp.Log}
	allPassQ      = dsp.Param{ID: "q", Name: "Q", Min: 0.1, Max: 10, Neutral: 0.7, Scale: dsp.Log}
	allPassStages = dsp.Param{ID: "stages", Name: "stages", Min: 0, Max: 4, Neutral: 0, Scale: dsp.Whole}
)

// AllPass turns the phase and keeps every level.
//
//	freqHz  where each stage turns by −180°    20 to 20000 Hz, below 0.49 of the rate
//	q       steepness of the turn              0.1 to 10
//	stages  how often                          0 to 4; 0 does nothing, to the bit
//
// From 0 Hz to half the rate each stage turns by −360°; its group delay at low
// freqHz is 4·q/(2π·freqHz) there. The bilinear transform is exact at freqHz
// and squeezes the turn towards half the rate. No latency.
//
// Source: R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter
// coefficients (W3C Group Note, 2021).
var AllPass = dsp.Spec{
	ID:     "allpass",
	Name:   "all-pass filter",
	Doc:    "Turns the phase and keeps every level.",
	Source: "R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note, 2021",
	Params: []dsp.Param{allPassFreq, allPassQ, allPassStages},
	Build: func(rateHz float64, s dsp.Setting) (dsp.Processor, error) {
		const most = 0.49
		if freqHz := s.Get(allPassFreq); freqHz >= most*rateHz {
			return nil, fmt.Errorf("freqHz=%g is too high for a sample rate of %g Hz; stay below %g Hz", freqHz, rateHz, most*rateHz)
		}
		a1, a2 := designAllPass(rateHz, s)
		chain := make(dsp.Chain, int(s.Get(allPassStages)))
		for i := range chain {
			chain[i] = &allPass{a1: a1, a2: a2}
		}
		return chain, nil
	},
	Response: func(rateHz, freqHz float64, s dsp.Setting) complex128 {
		a1, a2 := designAllPass(rateHz, s)
		z := cmplx.Rect(1, -2*math.Pi*freqHz/rateHz)
		one := (complex(a2, 0) + z*(complex(a1, 0)+z)) / (1 + z*(complex(a1, 0)+z*complex(a2, 0)))
		return cmplx.Pow(one, complex(s.Get(allPassStages), 0))
	},
}

// designAllPass is the denominator; the numerator is the same, last first.
func designAllPass(rateHz float64, s dsp.Setting) (a1, a2 float64) {
	sin, cos := math.Sincos(2 * math.Pi * s.Get(allPassFreq) / rateHz)
	alpha := sin / (2 * s.Get(allPassQ))
	return -2 * cos / (1 + alpha), (1 - alpha) / (1 + alpha)
}

// allPass is one stage:
//
//	y[n] = a2·x[n] + a1·x[n−1] + x[n−2] − a1·y[n−1] − a2·y[n−2]
//
// in transposed form. Every 256 frames since Reset a memory that has decayed
// below −2000 dB is cleared, so that silence costs no arithmetic on denormals.
type allPass struct {
	a1, a2      float64
	left, right [2]float64
	sinceClear  int
}

var _ dsp.Processor = (*allPass)(nil)

func (f *allPass) Reset() { *f = allPass{a1: f.a1, a2: f.a2} }

func (f *allPass) Process(buf []dsp.Frame) {
	const clearEvery = 256
	for len(buf) > 0 {
		n := min(len(buf), clearEvery-f.sinceClear)
		f.run(buf[:n])
		buf = buf[n:]
		if f.sinceClear += n; f.sinceClear == clearEvery {
			f.sinceClear = 0
			clearTiny(&f.left)
			clearTiny(&f.right)
		}
	}
}

func clearTiny(s *[2]float64) {
	const below = 1e-100
	if math.Abs(s[0]) < below && math.Abs(s[1]) < below {
		*s = [2]float64{}
	}
}

func (f *allPass) run(buf []dsp.Frame) {
	a1, a2 := f.a1, f.a2
	l1, l2, r1, r2 := f.left[0], f.left[1], f.right[0], f.right[1]
	for i := range buf {
		l, r := buf[i][0], buf[i][1]
		yl, yr := a2*l+l1, a2*r+r1
		l1, l2 = a1*(l-yl)+l2, l-a2*yl
		r1, r2 = a1*(r-yr)+r2, r-a2*yr
		buf[i] = dsp.Frame{yl, yr}
	}
	f.left, f.right = [2]float64{l1, l2}, [2]float64{r1, r2}
}
