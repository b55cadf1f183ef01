package pitch_test

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/pitch"
)

// The equal-tempered and other intervals, computed independently: 1200·log2 r.
func TestRatioOf(t *testing.T) {
	for cents, want := range map[float64]float64{
		5: 1.0028922879, 10: 1.0057929411, 25: 1.0145453349, 50: 1.0293022366, 100: 1.0594630944, 0: 1,
		1200: 2, -1200: 0.5, -13.686: 1.25 / math.Exp2(4./12), 1.955: 1.5 / math.Exp2(7./12), 7.8514: 442. / 440, 70.67: 25. / 24,
	} {
		if got := pitch.RatioOf(cents); math.Abs(got/want-1) > 5e-6 {
			t.Errorf("%g cents are a ratio of %.10f, want %.10f", cents, got, want)
		}
	}
}

// A shifted sine is a sine of the stated frequency, and all else at least 80 dB
// below it.
func TestShiftOfSines(t *testing.T) {
	worst, loudest := 0.0, math.Inf(-1)
	for _, rateHz := range []float64{44100, 48000} {
		for _, freqHz := range []float64{55, 440, 5000} {
			for _, by := range []float64{-1200, -700, -50, 3, 20, 500, 1200} {
				x := dsptest.Sine(rateHz, freqHz, 0.5, 0.3, int(1.5*rateHz))
				y := processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x)
				want := freqHz * pitch.RatioOf(by) / rateHz
				got := fitSine(left(y[int(0.4*rateHz):int(1.2*rateHz)]), want)
				off := cents(got.perFrame / want)
				worst, loudest = max(worst, math.Abs(off)), max(loudest, got.restDB)
				if math.Abs(off) > 0.05 || got.restDB > -80 || math.Abs(dsp.ToDB(got.ratio/0.5)) > 0.05 {
					t.Errorf("%g Hz by %g cents at %g Hz: %.4f cents off, level %.3f dB, all else %.1f dB", freqHz, by, rateHz, off, dsp.ToDB(got.ratio/0.5), got.restDB)
				}
			}
		}
	}
	t.Logf("at most %.5f cents off, all else %.1f dB", worst, loudest)
}

// Rendered on two cores the bits are those of one, in any split.
func TestShiftRenders(t *testing.T) {
	const rateHz = 48000
	for _, by := range []float64{-1200, 20, 1200} {
		p, err := pitch.Shift.New(rateHz, dsp.Setting{"cents": by})
		if err != nil {
			t.Fatal(err)
		}
		want := dsptest.Music(rateHz, 1, rateHz)
		got := slices.Clone(want)
		p.Process(want)
		p.Reset()
		for at, n := 0, 7; at < len(got); at, n = at+n, 3*n {
			dsp.Render(p, got[at:min(at+n, len(got))])
		}
		if !slices.Equal(got, want) {
			t.Errorf("by %g cents: rendered it is another sound", by)
		}
	}
}

// Once it has settled a sine comes out as it goes on, whatever was before.
func TestShiftSettles(t *testing.T) {
	const rateHz = 48000
	for _, by := range []float64{-1200, -50, 20, 1200} {
		p, err := pitch.Shift.New(rateHz, dsp.Setting{"cents": by})
		if err != nil {
			t.Fatal(err)
		}
		y := dsptest.Sine(rateHz, 440, 0.5, 0.3, 2*rateHz)
		p.Process(y)
		from := p.(dsp.Settler).SettleFrames()
		for at := from; at < from+rateHz/2; at += rateHz / 20 {
			got := fitSine(left(y[at:at+rateHz/20]), 440*pitch.RatioOf(by)/rateHz)
			if math.Abs(dsp.ToDB(got.ratio/0.5)) > 0.05 || got.restDB > -60 {
				t.Errorf("by %g cents, %d ms after it settled: level %.3f dB, all else %.1f dB", by, (at-from)/48, dsp.ToDB(got.ratio/0.5), got.restDB)
			}
		}
	}
}

// Of single strokes at least 90 % of the energy stays within 5 ms of where they
// were, and they keep their strength.
func TestShiftOfStrokes(t *testing.T) {
	const rateHz, every = 48000, 12000
	for _, by := range []float64{-1200, -300, -100, -20, 10, 50, 100, 400, 1200} {
		x := strokes(3*rateHz, every)
		y := processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x)
		checkStrokes(t, y, every, rateHz, 1/pitch.RatioOf(by), by)
	}
}

func checkStrokes(t *testing.T, y []dsp.Frame, every int, rateHz, want, what float64) {
	t.Helper()
	least, weakest, strongest := 1.0, math.Inf(1), 0.0
	for at := every; at+every/2 < len(y); at += every {
		all := energy(y[at-every/2 : at+every/2])
		near := energy(y[at-int(0.005*rateHz) : at+int(0.005*rateHz)+1])
		least, weakest, strongest = min(least, near/all), min(weakest, near/2/want), max(strongest, near/2/want)
	}
	t.Logf("%g: %.1f %% of the energy within 5 ms; energy %.2f to %.2f", what, 100*least, weakest, strongest)
	if least < 0.9 {
		t.Errorf("%g: %.1f %% of a stroke's energy lies within 5 ms", what, 100*least)
	}
	if weakest < 0.4 || strongest > 2.5 {
		t.Errorf("%g: strokes of energy %.2f to %.2f", what, weakest, strongest)
	}
}

// White noise stays white.
func TestShiftOfNoise(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Noise(1, 0.1, 6*rateHz)
	for _, by := range []float64{-1200, -100, -20, 20, 100, 700, 1200} {
		y := processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x)
		// The same power lies in a band ratio times as wide.
		checkFlat(t, x, y[rateHz/2:], rateHz, 20000*min(1, pitch.RatioOf(by)), -dsp.PowerToDB(pitch.RatioOf(by)), by)
	}
}

// What lies between the channels stays: a channel that is the other turned over
// at half the level stays that; a phase between two tones stays that phase.
func TestShiftKeepsTheStereoImage(t *testing.T) {
	const rateHz = 48000
	x := dsptest.Music(rateHz, 3, 3*rateHz/2)
	for i := range x {
		x[i][1] = -0.5 * x[i][0]
	}
	for _, by := range []float64{-500, 30, 700} {
		y := processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x)
		r := right(y)
		for i := range r {
			r[i] *= -2
		}
		if d := sameDB(r, left(y)); d > -120 {
			t.Errorf("%g cents: the channels part by %.1f dB", by, d)
		}
	}
	for _, phaseTurns := range []float64{0.25, 0.4, -0.1} {
		for i := range x {
			turns := 523.25 / rateHz * float64(i)
			x[i] = dsp.Frame{0.5 * math.Cos(2*math.Pi*turns), 0.2 * math.Cos(2*math.Pi*(turns+phaseTurns))}
		}
		for _, by := range []float64{-500, 30, 700} {
			y := processed(t, pitch.Shift, rateHz, dsp.Setting{"cents": by}, x)[rateHz/2 : 5*rateHz/4]
			want := 523.25 * pitch.RatioOf(by) / rateHz
			l, r := fitSine(left(y), want), fitSine(right(y), want)
			off := r.phaseTurns - l.phaseTurns - phaseTurns
			if off -= math.Round(off); math.Abs(off) > 1e-4 || math.Abs(dsp.ToDB(r.ratio/l.ratio/0.4)) > 0.001 {
				t.Errorf("%g cents: the phase between the channels is %.5f turns off, the levels %.4f dB", by, off, dsp.ToDB(r.ratio/l.ratio/0.4))
			}
		}
	}
}
