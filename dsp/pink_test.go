package dsp

import (
	"math"
	"testing"
)

// Pink noise falls by 10·log10(2) dB an octave: the definition of 1/f power.
func TestPinkSlope(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000, 192000} {
		p := NewPink(rateHz, 1)
		flat := func(hz float64) float64 { return PowerToDB(p.power(2*math.Pi*hz/rateHz) * hz) }
		ref := flat(1000)
		for hz := 20.0; hz <= 0.4*rateHz; hz *= 1.01 {
			if off := flat(hz) - ref; math.Abs(off) > 0.25 {
				t.Errorf("%g Hz: %.3f dB from the slope at %.0f Hz", rateHz, off, hz)
			}
		}
	}
}
