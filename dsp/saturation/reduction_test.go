package saturation

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// noiseDB is what p adds to a full-scale sine, under the sine.
func noiseDB(p dsp.Processor) float64 {
	in := dsptest.Sine(48000, 997, 1, 0.1, 48000*4)
	buf := append([]dsp.Frame(nil), in...)
	p.Process(buf)
	sum := 0.0
	for i, f := range buf {
		sum += (f[1] - in[i][1]) * (f[1] - in[i][1])
	}
	return dsp.PowerToDB(sum / float64(len(buf)) / 0.5)
}

// A full-scale sine lies 6.02·N + 1.76 dB above the error of N bits (W. R.
// Bennett, Spectra of quantized signals, 1948); triangular dither makes it
// three times the power (Lipshitz, Wannamaker & Vanderkooy 1992).
func TestQuantisationNoise(t *testing.T) {
	worst, worstDithered := 0.0, 0.0
	for _, n := range []float64{8, 12, 16, 20, 24} {
		plain := noiseDB(made(t, BitDepth, 48000, dsp.Setting{"bits": n}))
		want := -(20*n*math.Log10(2) + 10*math.Log10(1.5))
		worst = max(worst, math.Abs(plain-want))
		if !(math.Abs(plain-want) < 0.1) {
			t.Errorf("%g bits: %.2f dB, want %.2f", n, plain, want)
		}
		dithered := noiseDB(made(t, BitDepth, 48000, dsp.Setting{"bits": n, "dither": 1}))
		want = -(20*n*math.Log10(2) + 10*math.Log10(0.5))
		worstDithered = max(worstDithered, math.Abs(dithered-want))
		if !(math.Abs(dithered-want) < 0.05) {
			t.Errorf("%g bits, dithered: %.2f dB, want %.2f", n, dithered, want)
		}
	}
	t.Logf("worst: %.3f dB, dithered %.3f dB", worst, worstDithered)
}

// Dither frees the mean of the error from the signal: a level of 0.3 steps is
// lost without it and kept with it, in each channel by noise of its own.
func TestDitherKeepsWhatLiesBetweenSteps(t *testing.T) {
	const n = 200_000
	for _, dithered := range []float64{0, 1} {
		buf := make([]dsp.Frame, n)
		for i := range buf {
			buf[i] = dsp.Frame{0.3 / 128, 0.3 / 128}
		}
		made(t, BitDepth, 48000, dsp.Setting{"bits": 8, "dither": dithered}).Process(buf)
		sum, alike := 0.0, 0
		for _, f := range buf {
			sum += f[0] * 128 / n
			if f[0] == f[1] {
				alike++
			}
		}
		if !(math.Abs(sum-0.3*dithered) < 0.005) || (alike == n) != (dithered == 0) {
			t.Errorf("dither %g: a mean of %.4f steps, want %.4f; %d of %d frames alike", dithered, sum, 0.3*dithered, alike, n)
		}
	}
}

// Holding every sixth frame of 48 kHz puts images at 8 kHz ± f, 16 kHz ± f, …
// at |sin(πR·f/fs)/(R·sin(πf/fs))|, R = 6 (the zero-order hold; Oppenheim &
// Schafer, from memory).
func TestHoldImages(t *testing.T) {
	buf := steady(made(t, SampleRate, 48000, dsp.Setting{"sampleRateHz": 8000}), 48000, 1000, 1)
	for _, freqHz := range []float64{1000, 7000, 9000, 15000, 17000, 23000} {
		x := math.Pi * freqHz / 48000
		want := math.Abs(math.Sin(6*x) / (6 * math.Sin(x)))
		if got := cmplx.Abs(partial(buf, freqHz)); !(math.Abs(got-want) < 1e-9) {
			t.Errorf("image at %g Hz: %.9f, want %.9f", freqHz, got, want)
		}
	}
}

// What lies above half of the lower rate folds down about it, unfiltered.
func TestHoldFolds(t *testing.T) {
	buf := steady(made(t, SampleRate, 48000, dsp.Setting{"sampleRateHz": 8000}), 48000, 5000, 1)
	x := math.Pi * 3000 / 48000
	if got, want := cmplx.Abs(partial(buf, 3000)), math.Sin(6*x)/(6*math.Sin(x)); !(math.Abs(got-want) < 1e-9) {
		t.Errorf("5 kHz taken at 8 kHz leaves %.9f at 3 kHz, want %.9f", got, want)
	}
}

// The number of samples taken in a second is the rate, whatever it is.
func TestHoldTakesItsRate(t *testing.T) {
	for _, hz := range []float64{500, 7777, 11025, 44100} {
		buf := make([]dsp.Frame, 480000)
		for i := range buf {
			buf[i][0] = float64(i)
		}
		made(t, SampleRate, 48000, dsp.Setting{"sampleRateHz": hz}).Process(buf)
		taken := 1
		for i := 1; i < len(buf); i++ {
			if buf[i][0] != buf[i-1][0] {
				taken++
			}
		}
		if taken != int(10*hz) {
			t.Errorf("%g Hz takes %d samples in 10 s", hz, taken)
		}
	}
}
