package measure

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/dsp/saturation"
)

// noisePair is pink noise of 0.68 s, and the same later by any fraction of a
// frame, with other noise snrDB under it. The delay is a slope of phase in
// the spectrum of a longer piece, from the middle of which both are cut.
func noisePair(seed uint64, delayFrames, snrDB float64) (sent, returned []float64) {
	const n, start, length = 1 << 16, 16000, 32640
	buf := make([]dsp.Frame, n)
	dsp.NewPink(48000, seed).Fill(buf)
	other := make([]dsp.Frame, n)
	dsp.NewPink(48000, seed+1000).Fill(other)
	sent = Left.Samples(buf)
	fft := planFor(n)
	z := spectrumOf(fft, sent)
	for k := range z {
		z[k] *= cmplx.Rect(1, -2*math.Pi*float64(k)*delayFrames/n)
	}
	z[n/2] = 0
	returned = samplesOf(fft, z)
	for i := range returned {
		returned[i] += dsp.FromDB(-snrDB) * other[i][0]
	}
	return sent[start:][:length], returned[start:][:length]
}

func whiteSamples(seed uint64, n int) []float64 {
	buf := make([]dsp.Frame, n)
	dsp.NewWhite(seed).Fill(buf)
	return Left.Samples(buf)
}

// 139.942 frames are 1 m at 48 kHz and 343 m/s; every other return is turned
// over. An independent computation of the phase transform with these delays
// was off by 0.001 frames at an SNR from 20 dB up, 0.003 at 10 dB and 0.014 at
// 0 dB, with one noise each; here the worst of several is taken.
func TestAlignInNoise(t *testing.T) {
	for _, c := range []struct{ snrDB, tolerance float64 }{{100, 0.001}, {20, 0.003}, {10, 0.006}, {0, 0.02}} {
		worst := 0.0
		for i, delay := range []float64{0, 10.25, 48, 139.942, -37.6} {
			for seed := range uint64(3) {
				sent, returned := noisePair(seed, delay, c.snrDB)
				inverted := (i+int(seed))%2 == 1
				if inverted {
					for j := range returned {
						returned[j] *= -1
					}
				}
				a := Align(sent, returned)
				near(t, fmt.Sprintf("%g frames at an SNR of %g dB", delay, c.snrDB), a.DelayFrames, delay, c.tolerance)
				worst = max(worst, math.Abs(a.DelayFrames-delay))
				if a.Inverted != inverted {
					t.Errorf("%g frames at an SNR of %g dB: inverted is %t, want %t", delay, c.snrDB, a.Inverted, inverted)
				}
			}
		}
		t.Logf("SNR %g dB: off by %.4f frames at most", c.snrDB, worst)
	}
}

// Any whole delay of anything with a wide spectrum is found exactly.
func TestAlignWholeFrames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		delay := rapid.IntRange(-400, 400).Draw(t, "delay")
		ratio := rapid.Float64Range(0.001, 10).Draw(t, "ratio")
		inverted := rapid.Bool().Draw(t, "inverted")
		x := whiteSamples(rapid.Uint64().Draw(t, "seed"), 2000)
		sent, returned := make([]float64, 3000), make([]float64, 3000)
		copy(sent[500:], x)
		for i, v := range x {
			returned[500+delay+i] = v * ratio
			if inverted {
				returned[500+delay+i] *= -1
			}
		}
		a := Align(sent, returned)
		if math.Abs(a.DelayFrames-float64(delay)) > 1e-9 || a.Inverted != inverted || math.Abs(a.Likeness-1) > 1e-9 {
			t.Fatalf("got %+v", a)
		}
	})
}

// The latency that processors state is the one that is measured: of an
// oversampled saturator and of a compressor with look-ahead.
func TestAlignFindsStatedLatency(t *testing.T) {
	for spec, set := range map[*dsp.Spec]dsp.Setting{
		&saturation.Tanh:     {"driveDB": 6},
		&dynamics.Compressor: {"ratio": 4, "thresholdDB": -30, "lookaheadMS": 5},
	} {
		p, err := spec.New(48000, set)
		if err != nil {
			t.Fatal(err)
		}
		if dsp.DelayFrames(p) == 0 {
			t.Errorf("%s states no latency", spec.ID)
		}
		buf := pinkClip(48000, 4, 0.7)
		sent := Left.Samples(buf)
		p.Process(buf)
		near(t, spec.ID, Align(sent, Left.Samples(buf)).DelayFrames, float64(dsp.DelayFrames(p)), 0.02)
	}
}

func TestAlignStrangersAndSilence(t *testing.T) {
	x := whiteSamples(1, 10000)
	if a := Align(x, whiteSamples(2, 10000)); a.Likeness > 0.1 {
		t.Errorf("two noises are said to be alike: %+v", a)
	}
	for _, pair := range [][2][]float64{{nil, nil}, {x, nil}, {nil, x}, {x, make([]float64, 10000)}} {
		if a := Align(pair[0], pair[1]); a != (Alignment{}) {
			t.Errorf("silence is aligned: %+v", a)
		}
	}
}

func BenchmarkAlign(b *testing.B) {
	sent, returned := noisePair(1, 10.25, 20)
	for b.Loop() {
		Align(sent, returned)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(sent)), "ns/frame")
}
