package eq_test

import (
	"math"
	"math/cmplx"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

const invSqrt2 = 1 / math.Sqrt2

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

func sameSection(t *testing.T, what string, c eq.Coefficients, want [5]float64) {
	t.Helper()
	for i, got := range [5]float64{c.B0, c.B1, c.B2, c.A1, c.A2} {
		near(t, what+" "+[5]string{"b0", "b1", "b2", "a1", "a2"}[i], got, want[i], 1e-9)
	}
	if !c.Stable() {
		t.Errorf("%s is not stable", what)
	}
}

func db(c eq.Coefficients, rateHz, freqHz float64) float64 {
	return dsp.ToDB(cmplx.Abs(c.Response(rateHz, freqHz)))
}

func cascadeDB(sections []eq.Coefficients, rateHz, freqHz float64) (sum float64) {
	for _, c := range sections {
		sum += db(c, rateHz, freqHz)
	}
	return sum
}

// Coefficients computed independently, in double precision, from the formulae
// published in the W3C Audio EQ Cookbook.
func TestCookbook(t *testing.T) {
	for name, c := range map[string]struct {
		got  eq.Coefficients
		want [5]float64
	}{
		"peak 1k Q1 +6":        {eq.CookbookPeak(48000, 1000, 6, 1), [5]float64{1.043953086990, -1.895320723937, 0.867722284760, -1.895320723937, 0.911675371750}},
		"peak 1k Q1 -6":        {eq.CookbookPeak(48000, 1000, -6, 1), [5]float64{0.957897450050, -1.815522888486, 0.873291513873, -1.815522888486, 0.831188963923}},
		"peak 100 Q4 -9":       {eq.CookbookPeak(48000, 100, -9, 4), [5]float64{0.998232618610, -1.994350457231, 0.996288714102, -1.994350457231, 0.994521332712}},
		"peak 3150 Q1.41 +4.5": {eq.CookbookPeak(44100, 3150, 4.5, 1.41), [5]float64{1.072050436238, -1.610674283509, 0.715663147316, -1.610674283509, 0.787713583554}},
		"peak 1k 1 oct +6":     {eq.CookbookPeakOct(48000, 1000, 6, 1), [5]float64{1.031577524036, -1.919976913795, 0.904966794863, -1.919976913795, 0.936544318898}},
		"low-pass 1k":          {eq.CookbookLowPass(48000, 1000, invSqrt2), [5]float64{0.003916126661, 0.007832253321, 0.003916126661, -1.815341082705, 0.831005589347}},
		"high-pass 80":         {eq.CookbookHighPass(48000, 80, invSqrt2), [5]float64{0.992622542756, -1.985245085512, 0.992622542756, -1.985190657896, 0.985299513128}},
		"low shelf 100 +6":     {eq.CookbookLowShelf(48000, 100, 6, 1), [5]float64{1.003217895737, -1.984364430777, 0.981386698749, -1.984424329139, 0.984544696124}},
		"high shelf 8k -4":     {eq.CookbookHighShelf(48000, 8000, -4, 1), [5]float64{0.739665724473, -0.367563410894, 0.159448628069, -0.737999011332, 0.269549952980}},
		"high shelf S0.5 +9":   {eq.CookbookHighShelf(44100, 8000, 9, 0.5), [5]float64{1.875977945438, -1.250086672654, 0.183749597512, -0.182362764638, -0.007996365066}},
		"notch 50 Q30":         {eq.CookbookNotch(48000, 50, 30), [5]float64{0.999890929598, -1.999739027197, 0.999890929598, -1.999739027197, 0.999781859196}},
		"band-pass 1k Q2":      {eq.CookbookBandPass(48000, 1000, 2), [5]float64{0.031600378776, 0, -0.031600378776, -1.920229656437, 0.936799242447}},
		"all-pass 1k":          {eq.CookbookAllPass(48000, 1000, invSqrt2), [5]float64{0.831005589347, -1.815341082705, 1, -1.815341082705, 0.831005589347}},
	} {
		sameSection(t, name, c.got, c.want)
	}
}

// Levels of the same designs, computed independently, to ±0.001 dB.
func TestCookbookResponse(t *testing.T) {
	peak, oct := eq.CookbookPeak(48000, 1000, 6, 1), eq.CookbookPeakOct(48000, 1000, 6, 1)
	low, high := eq.CookbookLowShelf(48000, 100, 6, 1), eq.CookbookHighShelf(48000, 8000, -4, 1)
	lp, hp := eq.CookbookLowPass(48000, 1000, invSqrt2), eq.CookbookHighPass(48000, 80, invSqrt2)
	for _, c := range []struct {
		what      string
		filter    eq.Coefficients
		hz, level float64
	}{
		{"peak", peak, 1000, 6}, {"peak", peak, 500, 1.8794}, {"peak", peak, 2000, 1.8660},
		{"peak by octaves", oct, 706.91, 3}, {"peak by octaves", oct, 1413.59, 3},
		{"low shelf", low, 1e-3, 6}, {"low shelf", low, 100, 3}, {"low shelf", low, 50, 5.6236}, {"low shelf", low, 200, 0.3764},
		{"high shelf", high, 8000, -2}, {"high shelf", high, 16000, -3.9495},
		{"low-pass", lp, 1000, -3.0103}, {"high-pass", hp, 80, -3.0103},
		{"band-pass", eq.CookbookBandPass(48000, 1000, 2), 1000, 0},
	} {
		near(t, c.what, db(c.filter, 48000, c.hz), c.level, 0.001)
	}
	near(t, "low-pass phase", cmplx.Phase(lp.Response(48000, 1000)), -math.Pi/2, 1e-9)
	near(t, "high-pass phase", cmplx.Phase(hp.Response(48000, 80)), math.Pi/2, 1e-9)
	near(t, "all-pass phase", math.Abs(cmplx.Phase(eq.CookbookAllPass(48000, 1000, invSqrt2).Response(48000, 1000))), math.Pi, 1e-9)
	if level := db(eq.CookbookNotch(48000, 50, 30), 48000, 50); level > -120 {
		t.Errorf("notch at its centre: %.1f dB", level)
	}
}

func TestBoostAndCutCancel(t *testing.T) {
	for hz := 20.0; hz < 22000; hz *= 1.3 {
		for name, design := range map[string]func(rateHz, freqHz, gainDB, q float64) eq.Coefficients{
			"cookbook": eq.CookbookPeak, "matched": eq.MatchedPeak,
		} {
			both := design(48000, 2000, 12, 2).Response(48000, hz) * design(48000, 2000, -12, 2).Response(48000, hz)
			near(t, name+" boost times cut", cmplx.Abs(both-1), 0, 1e-12)
		}
		near(t, "all-pass", cmplx.Abs(eq.CookbookAllPass(48000, 3000, 0.3).Response(48000, hz)), 1, 1e-12)
	}
}

// Q of a bandwidth in octaves, computed independently from the cookbook's
// formula; the last rows the other way round.
func TestOctaves(t *testing.T) {
	for widthOct, q := range map[float64]float64{1. / 12: 17.3099, 1. / 6: 8.6514, 0.25: 5.7636, 1. / 3: 4.3185, 0.5: 2.8710,
		2. / 3: 2.1449, 1: 1.4142, 4. / 3: 1.0445, 1.5: 0.9198, 2: 0.6667, 3: 0.4041} {
		near(t, "QFromOct", eq.QFromOct(widthOct), q, 6e-5)
	}
	for q, widthOct := range map[float64]float64{0.5: 2.5431, 0.7071: 1.9, 1: 1.3885, 2: 0.7140, 4: 0.3597, 8: 0.1802, 10: 0.1442, 30: 0.0481} {
		near(t, "OctFromQ", eq.OctFromQ(q), widthOct, 6e-5)
	}
}

// Section Qs as printed in filter tables.
func TestButterworthQs(t *testing.T) {
	for order, want := range map[int][]float64{
		0: {}, 1: {}, 2: {0.707107}, 3: {1}, 4: {0.541196, 1.306563}, 5: {0.618034, 1.618034},
		6: {0.517638, 0.707107, 1.931852}, 8: {0.509796, 0.601345, 0.899976, 2.562915},
	} {
		got := eq.ButterworthQs(order)
		if len(got) != len(want) {
			t.Fatalf("order %d: %d sections, want %d", order, len(got), len(want))
		}
		for i := range got {
			near(t, "Q", got[i], want[i], 1e-6)
		}
	}
}

// Loss of the Butterworth filter, 10·log10(1+r^2n), with the frequency ratio r
// warped as the bilinear transform does; and the digital values of a 100 Hz
// high-pass computed independently.
func TestButterworthLoss(t *testing.T) {
	for order := range 9 {
		for _, r := range []float64{0.5, 1, 2, 4} {
			warped := math.Tan(math.Pi*3000*r/48000) / math.Tan(math.Pi*3000/48000)
			want := -10 * math.Log10(1+math.Pow(warped, float64(2*order)))
			if order == 0 {
				want = 0
			}
			near(t, "low-pass", cascadeDB(eq.ButterworthLowPass(48000, 3000, order), 48000, 3000*r), want, 1e-9)
			near(t, "high-pass", cascadeDB(eq.ButterworthHighPass(48000, 24000-3000, order), 48000, 24000-3000*r), want, 1e-9)
		}
	}
	for _, c := range []struct {
		order     int
		hz, level float64
	}{
		{4, 25, -48.165}, {4, 50, -24.1}, {4, 100, -3.0103}, {4, 200, -0.0169},
		{8, 25, -96.331}, {8, 50, -48.166}, {8, 100, -3.0103}, {8, 200, -0.0001},
	} {
		near(t, "high-pass 100 Hz", cascadeDB(eq.ButterworthHighPass(48000, 100, c.order), 48000, c.hz), c.level, 0.002)
	}
}
