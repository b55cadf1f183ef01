package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/dynamics"
)

// A detector smooths reductions, in dB, as they are asked for frame by frame.
type detector struct {
	attack, release float64 // what is kept of a difference from frame to frame
	branching       bool
	peak, y         float64
}

// Source: Giannoulis, Massberg & Reiss 2012, eq. 7, 16 (branching) and 17
// (decoupled).
func (d *detector) next(x float64) float64 {
	if d.branching {
		keep := d.release
		if x > d.y {
			keep = d.attack
		}
		d.y = keep*d.y + (1-keep)*x
		return d.y
	}
	d.peak = max(x, d.release*d.peak+(1-d.release)*x)
	d.y = d.attack*d.y + (1-d.attack)*d.peak
	return d.y
}

// referenceCompressor is the published feed-forward compressor, written here
// straight from its equations, on the left channel.
type referenceCompressor struct {
	thresholdDB, ratio, kneeDB, makeupDB float64
	detector
}

func newReferenceCompressor(rateHz, thresholdDB, ratio, kneeDB, makeupDB, attackMS, releaseMS float64, branching bool) *referenceCompressor {
	keep := func(ms float64) float64 { return math.Exp(-1000 / (ms * rateHz)) }
	return &referenceCompressor{thresholdDB, ratio, kneeDB, makeupDB, detector{attack: keep(attackMS), release: keep(releaseMS), branching: branching}}
}

func (c *referenceCompressor) Reset() { c.peak, c.y = 0, 0 }

func (c *referenceCompressor) Process(buf []dsp.Frame) {
	for i := range buf {
		x := dsp.ToDB(buf[i][0])
		over, y := x-c.thresholdDB, x
		switch {
		case 2*math.Abs(over) <= c.kneeDB:
			y = x + (1/c.ratio-1)*math.Pow(over+c.kneeDB/2, 2)/(2*c.kneeDB)
		case over > 0:
			y = c.thresholdDB + over/c.ratio
		}
		reduction := 0.0
		if over > -c.kneeDB {
			reduction = x - y
		}
		buf[i][0] *= dsp.FromDB(c.makeupDB - c.next(reduction))
		buf[i][1] = buf[i][0]
	}
}

// The reference detector's own check: a step of 12 dB with 5 and 100 ms at 48
// kHz, computed independently from the published equations.
func TestReferenceDetector(t *testing.T) {
	for branching, want := range map[bool][5]float64{
		false: {0.049896, 7.585447, 10.375977, 4.646415, 1.709320},
		true:  {0.049896, 7.585447, 10.375977, 4.414553, 1.624023},
	} {
		c := newReferenceCompressor(48000, 0, 2, 0, 0, 5, 100, branching)
		for i := range 48000 {
			y := c.next(12)
			for j, at := range []int{0, 239, 479} {
				if i == at {
					near(t, fmt.Sprintf("branching %t, sample %d", branching, i), y, want[j], 1e-6)
				}
			}
		}
		for i := range 9600 {
			y := c.next(0)
			for j, at := range []int{4799, 9599} {
				if i == at {
					near(t, fmt.Sprintf("branching %t, released for %d", branching, i), y, want[3+j], 1e-6)
				}
			}
		}
	}
}

func nearCurve(t *testing.T, name string, got, want CurveFit) {
	t.Helper()
	near(t, name+": threshold", got.ThresholdDB, want.ThresholdDB, 0.2)
	near(t, name+": ratio", got.Ratio, want.Ratio, 0.03*want.Ratio)
	near(t, name+": knee", got.KneeDB, want.KneeDB, 0.5)
	near(t, name+": make-up", got.MakeupDB, want.MakeupDB, 0.05)
}

// Thresholds, ratios, knees and make-up of an independent simulation, which
// got back (−19.989, 3.994, 6.015, 0), (−23.991, 2.000, 12.006, 3) and
// (−29.982, 7.962, 0.020, 6).
func TestStaticCurveOfReferenceCompressor(t *testing.T) {
	for _, want := range []CurveFit{{-20, 4, 6, 0, 0}, {-24, 2, 12, 3, 0}, {-30, 8, 0, 6, 0}} {
		c := newReferenceCompressor(48000, want.ThresholdDB, want.Ratio, want.KneeDB, want.MakeupDB, 5, 100, false)
		got := FitCurve(StaticCurve(c, 48000, UsualSteps()))
		nearCurve(t, fmt.Sprint(want), got, want)
		if got.RMSErrorDB > 0.03 {
			t.Errorf("%v: an error of %.3f dB is left", want, got.RMSErrorDB)
		}
		t.Logf("%v: %.3f", want, got)
	}
}

// The same for this program's compressor, at other rates.
func TestStaticCurveOfCompressor(t *testing.T) {
	for _, rateHz := range []float64{44100, 96000} {
		want := CurveFit{-26, 3, 8, 4, 0}
		p, err := dynamics.Compressor.New(rateHz, dsp.Setting{"thresholdDB": -26, "ratio": 3, "kneeDB": 8, "makeupDB": 4, "attackMS": 5, "releaseMS": 100})
		if err != nil {
			t.Fatal(err)
		}
		nearCurve(t, fmt.Sprintf("%g Hz", rateHz), FitCurve(StaticCurve(p, rateHz, UsualSteps())), want)
	}
}

// A gain has the curve of a gain, exactly.
func TestStaticCurveOfGain(t *testing.T) {
	points := StaticCurve(dsp.Gain(dsp.FromDB(-3)), 48000, UsualSteps())
	if len(points) != 61 {
		t.Fatalf("%d points", len(points))
	}
	for _, p := range points {
		near(t, fmt.Sprintf("at %g dB", p.InDB), p.OutDB, p.InDB-3, 1e-6)
	}
	fit := FitCurve(points)
	if fit.Ratio != 1 || !math.IsNaN(fit.ThresholdDB) {
		t.Errorf("a gain is fitted by %+v", fit)
	}
	near(t, "make-up", fit.MakeupDB, -3, 1e-6)
	near(t, "curve", fit.OutDB(-10), -13, 1e-6)
}

// Any exact curve of the published form is found again, three points of it
// outside the knee wrong by decibels.
func TestFitCurveProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := CurveFit{
			ThresholdDB: rapid.Float64Range(-45, -20).Draw(t, "thresholdDB"),
			Ratio:       rapid.Float64Range(1.5, 30).Draw(t, "ratio"),
			MakeupDB:    rapid.Float64Range(-6, 24).Draw(t, "makeupDB"),
			KneeDB:      rapid.Float64Range(4, 15).Draw(t, "kneeDB"),
		}
		var points []CurvePoint
		for x := -60.0; x <= 0; x++ {
			points = append(points, CurvePoint{x, want.OutDB(x)})
		}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for range 3 {
			if p := &points[r.IntN(len(points))]; math.Abs(p.InDB-want.ThresholdDB) > want.KneeDB/2 {
				p.OutDB += 10*r.Float64() - 5
			}
		}
		got := FitCurve(points)
		if math.Abs(got.ThresholdDB-want.ThresholdDB) > 0.2 || math.Abs(got.Ratio/want.Ratio-1) > 0.03 ||
			math.Abs(got.KneeDB-want.KneeDB) > 0.5 || math.Abs(got.MakeupDB-want.MakeupDB) > 0.05 {
			t.Fatalf("%+v, want %+v", got, want)
		}
	})
}

// The values are computed independently from the published curve.
func TestCurveFitAgainstTable(t *testing.T) {
	in := []float64{-40, -30, -25, -23, -20, -17, -15, -10, -6, 0}
	for _, c := range []struct {
		curve CurveFit
		out   []float64
	}{
		{CurveFit{-20, 4, 0, 0, 0}, []float64{-40, -30, -25, -23, -20, -19.25, -18.75, -17.5, -16.5, -15}},
		{CurveFit{-20, 4, 10, 0, 0}, []float64{-40, -30, -25, -23.15, -20.9375, -19.4, -18.75, -17.5, -16.5, -15}},
		{CurveFit{-24, 2, 12, 0, 0}, []float64{-40, -30, -25.520833333, -24.020833333, -22.083333333, -20.5, -19.5, -17, -15, -12}},
		{CurveFit{-18, math.Inf(1), 6, 0, 0}, []float64{-40, -30, -25, -23, -20.083333333, -18.333333333, -18, -18, -18, -18}},
	} {
		for i, x := range in {
			near(t, fmt.Sprintf("%+v at %g dB", c.curve, x), c.curve.OutDB(x), c.out[i], 1e-9)
		}
	}
}

func TestFitCurveOfLittle(t *testing.T) {
	for _, points := range [][]CurvePoint{nil, {{0, 0}, {1, 1}}, {{0, math.Inf(-1)}, {1, math.NaN()}, {2, 2}, {3, 3}, {4, 4}, {5, math.Inf(1)}}} {
		if fit := FitCurve(points); !math.IsNaN(fit.Ratio) || !math.IsNaN(fit.MakeupDB) {
			t.Errorf("%v is fitted by %+v", points, fit)
		}
	}
}

func BenchmarkFitCurve(b *testing.B) {
	points := StaticCurve(newReferenceCompressor(48000, -20, 4, 6, 0, 5, 100, false), 48000, UsualSteps())
	for b.Loop() {
		FitCurve(points)
	}
}
