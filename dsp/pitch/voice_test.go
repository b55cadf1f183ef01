package pitch_test

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/pitch"
)

// buzz is a band-limited sawtooth through the resonances of a vowel, as loud as
// it comes: harmonics 1/h times the resonances of /a/ at 730, 1090 and 2440 Hz
// (G. E. Peterson, H. L. Barney, JASA 24 (1952), table II, men).
func buzz(rateHz, freqHz float64, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	for h := 1.0; h*freqHz < 8000; h++ {
		a := vowel(h*freqHz) / h
		for i := range buf {
			x := 0.1 * a * math.Sin(2*math.Pi*h*freqHz*float64(i)/rateHz)
			buf[i][0] += x
			buf[i][1] += x
		}
	}
	return buf
}

func vowel(freqHz float64) (ratio float64) {
	for _, f := range []float64{730, 1090, 2440} {
		r := freqHz / f
		ratio += 1 / math.Hypot(1-r*r, r/8)
	}
	return ratio
}

// The pitch moves by what was asked for; what was in tune stays at its level.
func TestVoiceOfBuzz(t *testing.T) {
	const rateHz = 48000
	worst := 0.0
	for _, freqHz := range []float64{98, 220.3, 440} {
		x := buzz(rateHz, freqHz, 3*rateHz/2)
		for _, by := range []float64{-600, -200, -20, 8, 100, 600} {
			y := processed(t, pitch.Voice, rateHz, dsp.Setting{"cents": by}, x)
			want := freqHz * pitch.RatioOf(by) / rateHz
			off := cents(fitSine(left(y[rateHz/2:5*rateHz/4]), want).perFrame / want)
			level := dsp.PowerToDB(energy(y[rateHz/2:5*rateHz/4]) / energy(x[rateHz/2:5*rateHz/4]))
			worst = max(worst, math.Abs(off))
			if limit := 0.1 + 0.004*math.Abs(by); math.Abs(off) > 0.05 || math.Abs(level) > limit {
				t.Errorf("%g Hz by %g cents: %.3f cents off, level %.2f dB", freqHz, by, off, level)
			}
		}
	}
	t.Logf("at most %.4f cents off", worst)
}

// The formants stay: each harmonic has the level that the vowel has there, and
// not the one that it had before, within what windows of two periods can tell.
func TestVoiceKeepsFormants(t *testing.T) {
	const rateHz, freqHz = 48000, 110
	x := buzz(rateHz, freqHz, 3*rateHz/2)
	for _, by := range []float64{-400, -100, 100, 400} {
		kept := harmonicsOff(processed(t, pitch.Voice, rateHz, dsp.Setting{"cents": by}, x), rateHz, freqHz*pitch.RatioOf(by))
		moved := harmonicsOff(processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x), rateHz, freqHz*pitch.RatioOf(by))
		t.Logf("%g cents: harmonics %.2f dB from the vowel; %.2f dB where formants move", by, kept, moved)
		if kept > 1.5 || moved < 1.5*kept {
			t.Errorf("%g cents: harmonics %.2f dB from the vowel, %.2f dB where formants move", by, kept, moved)
		}
	}
}

// harmonicsOff is the spread, as a standard deviation in dB, of the levels of
// harmonics to 3.5 kHz about those of the vowel.
func harmonicsOff(y []dsp.Frame, rateHz, freqHz float64) float64 {
	y = y[int(rateHz/2):int(1.2*rateHz)]
	var sum, squares, n float64
	for h := 1.0; h*freqHz < 3500; h++ {
		d := dsp.ToDB(amplitude(left(y), h*freqHz/rateHz) * h / vowel(h*freqHz))
		sum, squares, n = sum+d, squares+d*d, n+1
	}
	return math.Sqrt(squares/n - sum/n*sum/n)
}

// amplitude is that of a sine, through a Hann window.
func amplitude(x []float64, perFrame float64) float64 {
	var re, im float64
	for i, v := range x {
		w := 1 - math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		s, c := math.Sincos(2 * math.Pi * perFrame * float64(i))
		re += w * v * c
		im += w * v * s
	}
	return 2 * math.Hypot(re, im) / float64(len(x))
}

// Noise has no period, and passes as it is.
func TestVoiceOfNoise(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Noise(1, 0.1, rateHz)
	y := processed(t, pitch.Voice, rateHz, dsp.Setting{"cents": 200}, x)
	if d := sameDB(left(y[4800:40000]), left(x[4800:40000])); d > -35 {
		t.Errorf("noise is changed by %.1f dB", d)
	}
}
