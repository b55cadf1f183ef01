package pitch_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/measure"
	"strop/dsp/pitch"
)

// The delay is the one that is asked for, to a ten-thousandth of a frame, and
// the level stays, to 0.45 of the rate: from the phase of sines.
func TestTimeShift(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for _, ms := range []float64{-250, -61.7, -0.01, 0.013, 17.3, 250} {
			for _, freqHz := range []float64{100, 997, 0.3 * rateHz, 0.45 * rateHz} {
				x := dsptest.Sine(rateHz, freqHz, 0.5, 0, int(rateHz))
				y := processed(t, pitch.TimeShift, rateHz, dsp.Setting{"shiftMS": ms}, x)
				cut := int(0.26 * rateHz)
				a, b := fitSine(left(x[cut:len(x)-cut]), freqHz/rateHz), fitSine(left(y[cut:len(y)-cut]), freqHz/rateHz)
				want := ms / 1000 * rateHz
				turns := a.phaseTurns - b.phaseTurns - want*freqHz/rateHz
				off := (turns - math.Round(turns)) * rateHz / freqHz
				if math.Abs(off) > 1e-4 || math.Abs(dsp.ToDB(b.ratio/a.ratio)) > 0.001 {
					t.Errorf("%g ms at %g Hz, a sine of %g Hz: %.6f frames off, %.5f dB", ms, rateHz, freqHz, off, dsp.ToDB(b.ratio/a.ratio))
				}
			}
		}
	}
}

// By the meter of alignment, which goes by the whole spectrum.
func TestTimeShiftByAlignment(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Noise(1, 0.2, rateHz)
	for _, ms := range []float64{-100, -20.003, -5, 0, 5.0077, 60} {
		y := processed(t, pitch.TimeShift, rateHz, dsp.Setting{"shiftMS": ms}, x)
		if got := measure.Align(left(x), left(y)); math.Abs(got.DelayFrames-ms*rateHz/1000) > 0.02 { // the meter's own
			t.Errorf("%g ms comes as %.4f ms", ms, got.DelayFrames*1000/rateHz)
		}
	}
}
