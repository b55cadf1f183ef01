package dynamics

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// Giannoulis, Massberg & Reiss, JAES 60(6) (2012), eq. 7; computed
// independently for 48 kHz.
func TestKeep(t *testing.T) {
	for ms, want := range map[float64]float64{
		1: 0.979382181331, 5: 0.995842001845, 10: 0.997918835299, 100: 0.999791688367, 1000: 0.999979166884,
	} {
		if got := keep(ms, 48000); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g ms: %.12f, want %.12f", ms, got, want)
		}
	}
}

// The same paper, eq. 17: a step of 12 dB of reduction at 48 kHz, 5 and 100 ms.
// Values computed independently from the formula.
func TestDecoupledStep(t *testing.T) {
	s := decoupled{attack: keep(5, 48000), release: keep(100, 48000)}
	up := slices.Repeat([]float64{12}, 48000)
	s.smooth(up)
	for i, want := range map[int]float64{0: 0.049896, 239: 7.585447, 479: 10.375977} {
		if math.Abs(up[i]-want) > 1e-6 {
			t.Errorf("sample %d: %.7f, want %.6f", i, up[i], want)
		}
	}
	down := make([]float64, 9600)
	s.smooth(down)
	for i, want := range map[int]float64{4799: 4.646415, 9599: 1.709320} {
		if math.Abs(down[i]-want) > 1e-6 {
			t.Errorf("release, sample %d: %.7f, want %.6f", i, down[i], want)
		}
	}
}

// The same paper's detector on sines 12 dB above a threshold at R 4, hard knee,
// 5 and 100 ms: 9 dB by the curve. Values computed independently.
func TestDecoupledReadsSines(t *testing.T) {
	for freqHz, want := range map[float64]float64{50: 8.853, 100: 8.922, 1000: 8.991} {
		s := decoupled{attack: keep(5, 48000), release: keep(100, 48000)}
		curve := kneeAbove(-12, 0, 1-1/4.)
		x := make([]float64, 96000)
		linkedLevels(x, dsptest.Sine(48000, freqHz, 1, 0, len(x)), 1)
		curve.above(x)
		s.smooth(x)
		mean := 0.0
		for _, y := range x[48000:] {
			mean += y * doublingDB / 48000
		}
		if math.Abs(mean-want) > 1e-3 {
			t.Errorf("%g Hz: %.4f dB, want %.3f", freqHz, mean, want)
		}
	}
}

// In the limit of a long release it is the difference that the literature uses.
func TestDecoupledRelease(t *testing.T) {
	for _, c := range []struct{ attackMS, releaseMS float64 }{{0.05, 100}, {1, 100}, {5, 100}, {10, 1000}} {
		got := decoupledRelease(c.attackMS, c.releaseMS)
		if math.Abs(got/(c.releaseMS-c.attackMS)-1) > 0.002 {
			t.Errorf("%g and %g ms: %.4f", c.attackMS, c.releaseMS, got)
		}
	}
	for _, c := range []struct{ attackMS, releaseMS float64 }{{50, 107}, {99, 100}, {50, 107.31}} {
		tau := decoupledRelease(c.attackMS, c.releaseMS)
		if got := left(tau, c.attackMS, c.releaseMS); math.Abs(got-1/math.E) > 1e-6 {
			t.Errorf("%g and %g ms: %.6f is left, want 1/e", c.attackMS, c.releaseMS, got)
		}
	}
}

// stepDB is a constant of fromDB, then, from frame at on, of toDB. A constant
// has a level of its own at every frame, so that it shows a detector bare.
func stepDB(fromDB, toDB float64, at, n int) []dsp.Frame {
	buf := make([]dsp.Frame, n)
	for i := range buf {
		x := dsp.FromDB(toDB)
		if i < at {
			x = dsp.FromDB(fromDB)
		}
		buf[i] = dsp.Frame{x, x}
	}
	return buf
}

// reductionsDB is what p takes from each frame of the left channel, in dB.
func reductionsDB(p dsp.Processor, in []dsp.Frame) []float64 {
	out := slices.Clone(in)
	p.Process(out)
	got := make([]float64, len(in))
	for i := range in {
		got[i] = dsp.ToDB(in[i][0] / out[i][0])
	}
	return got
}

// timeMS is when a trace that begins to move at frame at has gone 63.2 % of the
// way to its end, found between frames along the exponential.
func timeMS(trace []float64, at int, rateHz float64) float64 {
	from, to := trace[at-1], trace[len(trace)-1]
	rest := func(i int) float64 { return (to - trace[i]) / (to - from) }
	i := at
	for rest(i) > 1/math.E {
		i++
	}
	a, b := math.Log(rest(i-1)), math.Log(rest(i))
	return (float64(i-at) + (a+1)/(a-b)) * 1000 / rateHz
}

// Attack and release of every processor that labels them, against the label:
// the model fed by a step of level.
func TestAttackAndReleaseKeepTheirLabels(t *testing.T) {
	const rateHz, at = 48000, 4800
	worst := 0.0
	for _, c := range []struct {
		name   string
		spec   dsp.Spec
		set    dsp.Setting
		lowDB  float64
		highDB float64
		waitMS float64 // from the sound's end to the begin of the release
		times  [][2]float64
	}{
		{"feed-forward", Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4}, -80, -6, 0, [][2]float64{{0.05, 10}, {1, 50}, {10, 100}, {50, 60}, {200, 2000}}},
		{"feedback", Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 4, "kneeDB": 0, "topology": 0}, -80, -6, 0, [][2]float64{{0.05, 10}, {1, 50}, {10, 100}, {100, 20}}},
		{"feedback, ratio 20", Compressor, dsp.Setting{"thresholdDB": -30, "ratio": 20, "kneeDB": 0, "topology": 0}, -80, -6, 0, [][2]float64{{0.05, 10}, {10, 100}}},
		{"feedback, inside a wide knee", Compressor, dsp.Setting{"thresholdDB": -20, "ratio": 20, "kneeDB": 24, "topology": 0}, -29, -28, 0, [][2]float64{{1, 50}, {10, 100}}},
		{"FET", FET, dsp.Setting{"thresholdDB": -40, "ratio": 8}, -80, 0, 0, [][2]float64{{0.02, 50}, {0.2, 200}, {1, 1200}}},
		{"gate", Gate, dsp.Setting{"thresholdDB": -40, "rangeDB": 60, "holdMS": 20}, -90, -6, 20, [][2]float64{{0.02, 5}, {1, 100}, {50, 2000}}},
		{"expander", Expander, dsp.Setting{"thresholdDB": -40, "ratio": 3, "rangeDB": 30}, -90, -6, heldMS, [][2]float64{{0.1, 10}, {2, 150}, {100, 2000}}},
		{"upward", Upward, dsp.Setting{"thresholdDB": -30, "ratio": 4, "maxGainDB": 20}, -90, -6, heldMS, [][2]float64{{0.1, 10}, {2, 150}, {100, 2000}}},
	} {
		for _, times := range c.times {
			p, err := c.spec.New(rateHz, c.set.With("attackMS", times[0]).With("releaseMS", times[1]))
			if err != nil {
				t.Fatal(err)
			}
			settle := at + int(15*max(times[0], times[1])*rateHz/1000)
			up := reductionsDB(p, stepDB(c.lowDB, c.highDB, settle, 2*settle))
			down := reductionsDB(p, stepDB(c.highDB, c.lowDB, at, at+settle))
			attackMS := timeMS(up, settle, rateHz)
			releaseMS := timeMS(down, at+int(c.waitMS*rateHz/1000), rateHz)
			worst = max(worst, math.Abs(attackMS/times[0]-1), math.Abs(releaseMS/times[1]-1))
			if math.Abs(attackMS/times[0]-1) > 0.02 || math.Abs(releaseMS/times[1]-1) > 0.02 {
				t.Errorf("%s: attack %.4f ms, labelled %g; release %.4f ms, labelled %g", c.name, attackMS, times[0], releaseMS, times[1])
			}
		}
	}
	t.Logf("worst: %.2f %% of the label", 100*worst)
}
