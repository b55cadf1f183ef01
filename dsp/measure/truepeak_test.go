package measure

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/fourier"
)

// faded fades 10 ms in and out, as EBU Tech 3341 asks for its tones.
func faded(buf []dsp.Frame, rateHz float64) []dsp.Frame {
	n := int(rateHz / 100)
	for i := range n {
		g := dsp.Gain((1 - math.Cos(math.Pi*float64(i)/float64(n))) / 2)
		g.Process(buf[i : i+1])
		g.Process(buf[len(buf)-1-i : len(buf)-i])
	}
	return buf
}

// EBU Tech 3341 (2023), Table 1, cases 15 to 19: −6.0 or +3.0, +0.2/−0.4
// dBTP. The closer figures are those of an independent interpolator of 8
// times; the exact ones would be 20·log10 of the amplitude.
func TestTech3341TruePeakTones(t *testing.T) {
	for i, c := range []struct{ divisor, amplitude, degrees, want, closer float64 }{
		{4, 0.50, 0, -6, -6.0205}, {4, 0.50, 45, -6, -6.0193}, {6, 0.50, 60, -6, -6.0202}, {8, 0.50, 67.5, -6, -6.0202}, {4, 1.41, 45, 3, 2.9857},
	} {
		for _, rateHz := range []float64{44100, 48000, 96000, 192000} {
			buf := faded(sine(rateHz, rateHz/c.divisor, dsp.ToDB(c.amplitude), c.degrees*math.Pi/180, 0.5), rateHz)
			got := TruePeakDBTP(buf, rateHz)
			name := fmt.Sprintf("case %d at %g Hz", 15+i, rateHz)
			if got > c.want+0.2 || got < c.want-0.4 {
				t.Errorf("%s: %.4f dBTP, want %g +0.2/−0.4", name, got, c.want)
			}
			near(t, name+", closer", got, c.closer, 0.002)
			near(t, name+", exact", got, dsp.ToDB(c.amplitude), 0.002)
		}
	}
}

// Cases 20 to 23: a tone of a sixth of the rate and amplitude 0.5 with one
// period of a quarter and amplitude 1 in it, made at four times the rate,
// filtered, and every fourth sample taken, from the first to the fourth on:
// 0.0 +0.2/−0.4 dBTP.
func TestTech3341TruePeakBurst(t *testing.T) {
	const rateHz, n = 48000, 1 << 14
	high := make([]float64, n)
	for i := range high {
		high[i] = 0.5 * math.Sin(2*math.Pi*float64(i)/24)
	}
	for i := range 16 {
		high[n/2-n/2%24+i] = math.Sin(2 * math.Pi * float64(i) / 16)
	}
	f := fourier.NewFFT(n)
	re, im := make([]float64, n/2+1), make([]float64, n/2+1)
	f.Forward(re, im, high)
	for k := range re {
		if k > n/8*9/10 { // below half of the low rate
			re[k], im[k] = 0, 0
		}
	}
	f.Inverse(high, re, im)
	for offset := range 4 {
		buf := make([]dsp.Frame, 0, n/4)
		for i := offset; i < n; i += 4 {
			buf = append(buf, dsp.Frame{high[i], high[i]})
		}
		got := TruePeakDBTP(faded(buf, rateHz), rateHz)
		if got > 0.2 || got < -0.4 {
			t.Errorf("case %d: %.4f dBTP, want 0 +0.2/−0.4", 20+offset, got)
		}
	}
}

// ITU-R BS.1770-5, Attachment 1 to Annex 2: interpolating n times under-reads
// a tone by no more than 20·log10 cos(π·f/n), f the part of the rate: 0.136 dB
// at 0.45 for n = 8, 0.554 dB for n = 4. A tone of a quarter of the rate
// whose peaks all lie half-way between two points is under-read by just that.
func TestTruePeakUnderRead(t *testing.T) {
	near(t, "bound at 0.45, 8 times", underReadDB(0.45, 8), -0.136, 5e-4)
	near(t, "bound at 0.45, 4 times", underReadDB(0.45, 4), -0.554, 5e-4)
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct{ rateHz, factor float64 }{{48000, 8}, {192000, 4}} {
		quarter := faded(sine(c.rateHz, c.rateHz/4, 0, math.Pi/4/c.factor, 0.1), c.rateHz)
		near(t, "a quarter of the rate", TruePeakDBTP(quarter, c.rateHz), underReadDB(0.25, c.factor), 0.003)
		for range 60 {
			part := 0.05 + 0.4*r.Float64()
			got := TruePeakDBTP(faded(sine(c.rateHz, part*c.rateHz, 0, 2*math.Pi*r.Float64(), 0.1), c.rateHz), c.rateHz)
			if got > 0.005 || got < underReadDB(part, c.factor)-0.005 {
				t.Errorf("a tone of %.4f of the rate reads %.4f dBTP, want %.4f to 0", part, got, underReadDB(part, c.factor))
			}
		}
	}
}

func underReadDB(part, factor float64) float64 { return dsp.ToDB(math.Cos(math.Pi * part / factor)) }

// Each set of taps passes tones to 0.9 of half the rate as an ideal delay
// would.
func TestInterpolatorIsFlat(t *testing.T) {
	in := newInterpolator(8)
	for part := 0.0; part <= 0.45; part += 0.005 {
		for p, taps := range in.taps {
			var h complex128
			for k, tap := range taps {
				h += complex(tap, 0) * cmplx.Rect(1, 2*math.Pi*part*(float64(k-interpolatorTaps/2+1)-float64(p+1)/8))
			}
			if math.Abs(dsp.ToDB(cmplx.Abs(h))) > 0.005 || math.Abs(cmplx.Phase(h)) > 3e-4 {
				t.Fatalf("point %d at %.3f of the rate: %.5f dB, %.2g rad", p+1, part, dsp.ToDB(cmplx.Abs(h)), cmplx.Phase(h))
			}
		}
	}
}

// Where nothing is interpolated nothing is lost: the same bits as with every
// point made.
func TestTruePeakSkipsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rateHz := rapid.SampledFrom([]float64{44100, 192000}).Draw(t, "rateHz")
		seed := rapid.Uint64().Draw(t, "seed")
		n := rapid.IntRange(0, 3000).Draw(t, "n")
		r := rand.New(rand.NewPCG(seed, 4))
		buf := make([]dsp.Frame, n)
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			dsp.NewWhite(seed).Fill(buf)
		case 1:
			dsp.NewPink(rateHz, seed).Fill(buf)
		case 2: // single samples far apart
			for i := range buf {
				if r.IntN(100) == 0 {
					buf[i] = dsp.Frame{r.NormFloat64(), r.NormFloat64()}
				}
			}
		case 3: // square waves at full scale
			period := 2 + r.IntN(30)
			for i := range buf {
				buf[i] = dsp.Frame{float64(i/period%2*2 - 1), 0}
			}
		}
		skipping, everywhere := NewTruePeakMeter(rateHz), NewTruePeakMeter(rateHz)
		everywhere.all = true
		inPieces(skipping, buf, seed)
		everywhere.Process(buf)
		got, sample := skipping.Result()
		want, _ := everywhere.Result()
		if got != want {
			t.Fatalf("%v dBTP, want %v", got, want)
		}
		if sample != SamplePeakDBFS(buf) || got < sample {
			t.Fatalf("sample peak %v, true peak %v, want %v", sample, got, SamplePeakDBFS(buf))
		}
	})
}

// The bound itself: no point of any signal is further above its neighbours.
func TestInterpolatorBound(t *testing.T) {
	in := newInterpolator(8)
	if in.level > 0.01 || in.bend > 0.6 {
		t.Errorf("loose: %g of the level, %g of the bend", in.level, in.bend)
	}
	rapid.Check(t, func(t *rapid.T) {
		var x [interpolatorTaps]dsp.Frame
		for i := range x {
			x[i][0] = rapid.Float64Range(-1, 1).Draw(t, "x")
		}
		level, bend := 0.0, 0.0
		for i := range x {
			level = max(level, math.Abs(x[i][0]))
			if i > 1 {
				bend = max(bend, math.Abs(x[i][0]-2*x[i-1][0]+x[i-2][0]))
			}
		}
		ends := max(math.Abs(x[interpolatorTaps/2-1][0]), math.Abs(x[interpolatorTaps/2][0]))
		if got := in.highest(&x); got > ends+in.bound(level, bend) {
			t.Fatalf("%g above %g", got-ends, in.bound(level, bend))
		}
	})
}

func TestTruePeakOfLittle(t *testing.T) {
	if got := TruePeakDBTP(nil, 48000); !math.IsInf(got, -1) {
		t.Errorf("nothing reads %g", got)
	}
	near(t, "one sample", TruePeakDBTP([]dsp.Frame{{0, -0.5}}, 48000), -6.0206, 1e-4)
	if got := TruePeakDBTP(append(make([]dsp.Frame, 1000), dsp.Frame{0, math.NaN()}), 48000); !math.IsNaN(got) {
		t.Errorf("a NaN reads %g", got)
	}
	m := NewTruePeakMeter(48000)
	m.Process([]dsp.Frame{{math.Inf(1), math.NaN()}})
	m.Reset()
	if !reflect.DeepEqual(m, NewTruePeakMeter(48000)) {
		t.Error("Reset leaves something behind")
	}
}

// Music as it is, and the worst there is: noise clipped hard, where most
// samples stand at the peak.
func BenchmarkTruePeak(b *testing.B) {
	b.Run("music", func(b *testing.B) { benchmarkMeter(b, NewTruePeakMeter(48000), musicLike(48000, 1, 30)) })
	b.Run("clipped", func(b *testing.B) { benchmarkMeter(b, NewTruePeakMeter(48000), clippedMusic()) })
}

func clippedMusic() []dsp.Frame {
	buf := musicLike(48000, 1, 30)
	dsp.Gain(4).Process(buf)
	for i := range buf {
		buf[i][0], buf[i][1] = min(max(buf[i][0], -1), 1), min(max(buf[i][1], -1), 1)
	}
	return buf
}
