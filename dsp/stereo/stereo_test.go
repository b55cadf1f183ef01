package stereo_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/stereo"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func level(h complex128) float64 { return dsp.ToDB(cmplx.Abs(h)) }

func build(t *testing.T, spec dsp.Spec, rateHz float64, set dsp.Setting) dsp.Processor {
	t.Helper()
	p, err := spec.New(rateHz, set)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// matrix is the measured response from each channel to each, [to][from]: the
// transforms of two impulse responses from frame DelayFrames on.
func matrix(p dsp.Processor, rateHz, freqHz float64) (h [2][2]complex128) {
	for from := range 2 {
		p.Reset()
		buf := make([]dsp.Frame, 1<<15)
		buf[0][from] = 1
		p.Process(buf)
		for i, f := range buf {
			turn := cmplx.Rect(1, -2*math.Pi*freqHz*float64(i-dsp.DelayFrames(p))/rateHz)
			h[0][from] += complex(f[0], 0) * turn
			h[1][from] += complex(f[1], 0) * turn
		}
	}
	return h
}

// What each processor makes of each channel, against the definition: gains by
// the pan laws, (M+wS, M−wS), signs, and the turn e^(−2πi·f·delay).
func TestMatrices(t *testing.T) {
	turn := func(freqHz, s float64) complex128 { return cmplx.Rect(1, -2*math.Pi*freqHz*s) }
	for _, rateHz := range []float64{44100, 96000} {
		for _, hz := range []float64{31, 1000, 19800} {
			for _, c := range []struct {
				spec dsp.Spec
				set  dsp.Setting
				want [2][2]complex128
			}{
				{stereo.Pan, dsp.Setting{"positionPct": 100}, [2][2]complex128{{0, 0}, {0, math.Sqrt2}}},
				{stereo.Pan, dsp.Setting{"positionPct": -100, "centreDB": -6}, [2][2]complex128{{2, 0}, {0, 0}}},
				{stereo.Pan, dsp.Setting{"positionPct": -50, "centreDB": -6}, [2][2]complex128{{1.5, 0}, {0, 0.5}}},
				{stereo.Width, dsp.Setting{"widthPct": 0}, [2][2]complex128{{0.5, 0.5}, {0.5, 0.5}}},
				{stereo.Width, dsp.Setting{"widthPct": 200}, [2][2]complex128{{1.5, -0.5}, {-0.5, 1.5}}},
				{stereo.Polarity, dsp.Setting{"left": 1}, [2][2]complex128{{-1, 0}, {0, 1}}},
				{stereo.Polarity, dsp.Setting{"right": 1}, [2][2]complex128{{1, 0}, {0, -1}}},
				{stereo.Polarity, dsp.Setting{"left": 1, "right": 1}, [2][2]complex128{{-1, 0}, {0, -1}}},
				{stereo.Delay, dsp.Setting{"delayMS": 1.234}, [2][2]complex128{{turn(hz, 0.001234), 0}, {0, turn(hz, 0.001234)}}},
				{stereo.Delay, dsp.Setting{"distanceM": 3.43, "right": 0}, [2][2]complex128{{turn(hz, 0.01), 0}, {0, 1}}},
				{stereo.Delay, dsp.Setting{"samples": 0.5, "left": 0}, [2][2]complex128{{1, 0}, {0, turn(hz, 0.5/rateHz)}}},
				{stereo.Delay, dsp.Setting{"samples": 12, "delayMS": 2, "distanceM": 1}, [2][2]complex128{
					{turn(hz, 12/rateHz+0.002+1/343.), 0}, {0, turn(hz, 12/rateHz+0.002+1/343.)}}},
			} {
				got := matrix(build(t, c.spec, rateHz, c.set), rateHz, hz)
				for to := range 2 {
					for from := range 2 {
						near(t, fmt.Sprintf("%s {%s} at %g Hz, %g Hz: channel %d to %d", c.spec.ID, c.set.Text(c.spec.Params), rateHz, hz, from, to),
							cmplx.Abs(got[to][from]-c.want[to][from]), 0, 1e-4)
					}
				}
			}
		}
	}
}

// Levels by the pan laws, computed independently from their formulae.
func TestPanLaws(t *testing.T) {
	for _, c := range []struct{ law, position, left, right float64 }{
		{-3, 0, -3.0103, -3.0103}, {-6, 0, -6.0206, -6.0206}, {-4.5, 0, -4.5154, -4.5154},
		{-3, -50, -0.6877, -8.3432}, {-6, -50, -2.4988, -12.0412}, {-4.5, -50, -1.5932, -10.1922},
		{-3, 50, -8.3432, -0.6877}, {-4.5, 50, -10.1922, -1.5932},
	} {
		left, right := stereo.PanGains(c.position, c.law)
		name := fmt.Sprintf("law %g dB, %g %%: ", c.law, c.position)
		near(t, name+"left", dsp.ToDB(left), c.left, 5e-5)
		near(t, name+"right", dsp.ToDB(right), c.right, 5e-5)
		h := matrix(build(t, stereo.Pan, 48000, dsp.Setting{"positionPct": c.position, "centreDB": c.law}), 48000, 1000)
		near(t, name+"left less right", level(h[0][0])-level(h[1][1]), c.left-c.right, 2e-4)
	}
	if left, right := stereo.PanGains(0, -5); !math.IsNaN(left) || !math.IsNaN(right) {
		t.Errorf("a law of −5 dB gives %g and %g", left, right)
	}
}

// The tangent law at ±30°: level differences computed independently.
func TestAngle(t *testing.T) {
	for deg, levelDB := range map[float64]float64{0: 0, 1: 0.525, 2: 1.052, 3.6: 1.901, 5: 2.653, 10: 5.480, 15: 8.730, 20: 12.892} {
		near(t, "to the right", stereo.AngleDeg(1, dsp.FromDB(levelDB)), deg, 0.002)
		near(t, "to the left", stereo.AngleDeg(dsp.FromDB(levelDB), 1), -deg, 0.002)
	}
	near(t, "hard right", stereo.AngleDeg(0, 1), 30, 1e-9)
}

// The correlation of M+wS and M−wS, M and S independent and equal, is
// (1−w²)/(1+w²): 0.600 for a width of 50 %.
func TestWidthSetsTheCorrelation(t *testing.T) {
	for width, want := range map[float64]float64{0: 1, 50: 0.6, 100: 0, 200: -0.6} {
		buf := dsptest.Noise(1, 0.1, 1<<18) // left and right independent: so are middle and side
		build(t, stereo.Width, 48000, dsp.Setting{"widthPct": width}).Process(buf)
		var lr, ll, rr float64
		for _, f := range buf {
			lr, ll, rr = lr+f[0]*f[1], ll+f[0]*f[0], rr+f[1]*f[1]
		}
		near(t, fmt.Sprintf("width %g %%", width), lr/math.Sqrt(ll*rr), want, 0.005)
	}
}

// To the bit: a neutral width, and what leaves polarity twice.
func TestExact(t *testing.T) {
	for what, p := range map[string]dsp.Chain{
		"width 100 %":    {build(t, stereo.Width, 48000, nil)},
		"polarity twice": {build(t, stereo.Polarity, 48000, dsp.Setting{"left": 1}), build(t, stereo.Polarity, 48000, dsp.Setting{"left": 1})},
		"pan 0 %":        {build(t, stereo.Pan, 48000, dsp.Setting{"centreDB": -4.5})},
	} {
		in, out := dsptest.Noise(2, 1, 4000), dsptest.Noise(2, 1, 4000)
		p.Process(out)
		for i := range in {
			if in[i] != out[i] {
				t.Fatalf("%s: frame %d is %v, was %v", what, i, out[i], in[i])
			}
		}
	}
}

func ExampleDelaySamples() {
	set := dsp.Setting{"distanceM": 1}
	fmt.Printf("%.3f samples, %.5f ms\n", stereo.DelaySamples(48000, set), stereo.DelaySamples(1000, set))
	// Output: 139.942 samples, 2.91545 ms
}

func ExampleAngleDeg() {
	left, right := stereo.PanGains(25, -3)
	fmt.Printf("%.1f°\n", stereo.AngleDeg(left, right))
	// Output: 6.6°
}
