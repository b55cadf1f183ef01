package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/measure"
)

// expectOnsets expects the onsets at these times and no others.
func expectOnsets(t *testing.T, what string, got, want []float64, withinMS float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d onsets at %.3f s, want %d at %.3f s", what, len(got), got, len(want), want)
		return
	}
	for i := range got {
		if off := 1000 * (got[i] - want[i]); math.Abs(off) > withinMS {
			t.Errorf("%s: an onset at %.4f s, want %.4f s", what, got[i], want[i])
		}
	}
}

// Clicks, bursts and plucked notes whose times are known, alone and in noise
// 30 dB below.
func TestOnsetsOfKnownSounds(t *testing.T) {
	times := []float64{0.25, 0.61, 0.8003, 1.2517, 1.9, 2.0507, 2.6}
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for what, sound := range map[string]func(s float64) float64{
			"click": func(s float64) float64 { return 0.8 * max(0, 1-s*rateHz) },
			"tone":  func(s float64) float64 { return 0.5 * math.Exp(-s/0.1) * math.Sin(2*math.Pi*660*s) },
			"bass":  func(s float64) float64 { return 0.5 * math.Exp(-s/0.15) * math.Sin(2*math.Pi*60*s) },
			"burst": func(s float64) float64 { return 0.5 * math.Exp(-s/0.03) * math.Sin(s*1e9*math.Sin(s*1e4)) },
		} {
			buf := make([]dsp.Frame, int(3*rateHz))
			var starts []float64
			for _, at := range times {
				first := int(math.Round(at * rateHz))
				starts = append(starts, float64(first)/rateHz)
				for i := first; i < len(buf); i++ {
					x := sound(float64(i-first) / rateHz)
					buf[i][0] += x
					buf[i][1] += x
				}
			}
			expectOnsets(t, what, measure.Onsets(buf, rateHz), starts, 1.5)
			for i, f := range dsptest.Noise(1, 0.003, len(buf)) {
				buf[i][0] += f[0]
				buf[i][1] += f[1]
			}
			got := measure.Onsets(buf, rateHz)
			if len(got) > 0 && got[0] < 0.02 {
				got = got[1:] // the noise itself
			}
			expectOnsets(t, what+" in noise", got, starts, 2)
		}
	}
}

// A mix that has something on every sixteenth, 120 beats a minute, over tones
// that ring on.
func TestOnsetsOfAMix(t *testing.T) {
	var sixteenths []float64
	for i := range 32 {
		sixteenths = append(sixteenths, 0.125*float64(i))
	}
	for _, rateHz := range []float64{44100, 48000} {
		expectOnsets(t, "music", measure.Onsets(dsptest.Music(rateHz, 1, int(3.95*rateHz)), rateHz), sixteenths, 3)
	}
}

// What is steady has no onset but its own.
func TestOnsetsOfSteadySounds(t *testing.T) {
	const rateHz = 48000
	for what, buf := range map[string][]dsp.Frame{
		"noise": dsptest.Noise(1, 0.1, 4*rateHz), "sine": dsptest.Sine(rateHz, 220, 0.5, 0, 4*rateHz), "silence": make([]dsp.Frame, rateHz), "nothing": nil,
	} {
		onsets := measure.Onsets(buf, rateHz)
		for _, at := range onsets {
			if at > 0.05 && at < 3.95 {
				t.Errorf("%s begins at %.3f s", what, at)
			}
		}
	}
}

// A drummer's strokes against the beats of the score: what is found lies on the
// sixteenths, as closely as people play, and every beat of a bass drum that the
// song has is found.
func TestOnsetsOfASong(t *testing.T) {
	for _, name := range []string{"Kick", "Snare"} {
		r, _, x := stemOf(t, name)
		buf := make([]dsp.Frame, len(x))
		for i, v := range x {
			buf[i] = dsp.Frame{v, v}
		}
		var grid []float64
		for i := range len(r.Beats) - 1 {
			for part := range 4 {
				grid = append(grid, (float64(r.Beats[i])+float64(r.Beats[i+1]-r.Beats[i])*float64(part)/4)/r.RateHz)
			}
		}
		onsets := measure.Onsets(buf, r.RateHz)
		o := measure.OffsetsFrom(onsets, grid)
		t.Logf("%s: %d onsets, mean %.2f ms, spread %.2f ms", name, len(onsets), o.MeanMS, o.SpreadMS)
		if len(onsets) < 20 || math.Abs(o.MeanMS) > 6 || o.SpreadMS > 12 {
			t.Errorf("%s: %d onsets, mean %.2f ms, spread %.2f ms", name, len(onsets), o.MeanMS, o.SpreadMS)
		}
	}
}

// The arithmetic, on offsets that are known.
func TestOffsetsFrom(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var grid, onsets, want []float64
	sum, squares := 0.0, 0.0
	for i := range 50 {
		grid = append(grid, 0.5*float64(i))
		off := 12 + 5*r.NormFloat64()
		want = append(want, off)
		sum, squares = sum+off/50, squares+off*off/50
		onsets = append(onsets, grid[i]+off/1000)
	}
	o := measure.OffsetsFrom(onsets, grid)
	for i, off := range o.EachMS {
		if math.Abs(off-want[i]) > 1e-9 {
			t.Fatalf("onset %d: %g ms, want %g", i, off, want[i])
		}
	}
	if math.Abs(o.MeanMS-sum) > 1e-9 || math.Abs(o.SpreadMS-math.Sqrt(squares-sum*sum)) > 1e-9 {
		t.Errorf("mean %g, spread %g", o.MeanMS, o.SpreadMS)
	}
	if o := measure.OffsetsFrom([]float64{0.3, 0.26, 0.24, -1}, []float64{0, 0.5}); math.Abs(o.EachMS[0]+200) > 1e-9 || math.Abs(o.EachMS[1]+240) > 1e-9 || math.Abs(o.EachMS[2]-240) > 1e-9 || o.EachMS[3] != -1000 {
		t.Errorf("offsets %v", o.EachMS)
	}
	for _, o := range []measure.BeatOffsets{measure.OffsetsFrom(nil, grid), measure.OffsetsFrom(onsets, nil)} {
		if len(o.EachMS) != 0 || o.MeanMS != 0 || o.SpreadMS != 0 {
			t.Errorf("nothing: %v", o)
		}
	}
}

func BenchmarkOnsets(b *testing.B) {
	music := dsptest.Music(48000, 1, 8*48000)
	for b.Loop() {
		measure.Onsets(music, 48000)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(music)), "ns/frame")
}
