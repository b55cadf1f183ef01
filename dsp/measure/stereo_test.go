package measure

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
)

// The identities are exact; independent noise scatters by a few thousandths.
func TestMidSide(t *testing.T) {
	noise := make([]dsp.Frame, 48000)
	dsp.NewWhite(1).Fill(noise)
	for name, c := range map[string]struct {
		frame           func(a, b float64) dsp.Frame
		want, tolerance float64
	}{
		"mono":          {func(a, _ float64) dsp.Frame { return dsp.Frame{a, a} }, math.Inf(1), 0},
		"turned over":   {func(a, _ float64) dsp.Frame { return dsp.Frame{a, -a} }, math.Inf(-1), 0},
		"left only":     {func(a, _ float64) dsp.Frame { return dsp.Frame{a, 0} }, 0, 1e-12},
		"independent":   {func(a, b float64) dsp.Frame { return dsp.Frame{a, b} }, 0, 0.1},
		"side at half":  {func(a, b float64) dsp.Frame { return dsp.Frame{a + b/2, a - b/2} }, 20 * math.Log10(2), 0.1},
		"right at half": {func(a, _ float64) dsp.Frame { return dsp.Frame{a, a / 2} }, 20 * math.Log10(3), 1e-9}, // 0.75 over 0.25
	} {
		buf := make([]dsp.Frame, len(noise))
		for i, f := range noise {
			buf[i] = c.frame(f[0], f[1])
		}
		if got := MidSideDB(buf); got != c.want {
			near(t, name, got, c.want, c.tolerance)
		}
	}
	if got := MidSideDB(make([]dsp.Frame, 9)); !math.IsNaN(got) {
		t.Errorf("silence reads %g dB", got)
	}
}

// Mid and side give back left and right within one rounding of the larger.
func TestMidSideRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := dsp.Frame{rapid.Float64Range(-4, 4).Draw(t, "left"), rapid.Float64Range(-4, 4).Draw(t, "right")}
		m, s := Mid.Of(f), Side.Of(f)
		ulp := math.Nextafter(max(math.Abs(f[0]), math.Abs(f[1])), 5) - max(math.Abs(f[0]), math.Abs(f[1]))
		if math.Abs(m+s-f[0]) > ulp || math.Abs(m-s-f[1]) > ulp {
			t.Fatalf("%v comes back as %v", f, dsp.Frame{m + s, m - s})
		}
	})
}

// Two equal sines at an angle add up to 20·log10(2cos(angle/2)): the levels
// of the table are computed independently from that formula; the sum of both
// in phase is 6.0206 dB.
func TestMonoFoldOfAnAngle(t *testing.T) {
	const rateHz = 48000
	for degrees, sumDB := range map[float64]float64{0: 6.0206, 60: 4.7712, 90: 3.0103, 120: 0, 150: -5.7195, 170: -15.174, 175: -21.186} {
		buf := sine(rateHz, 1000, -6, 0, 2)
		for i, f := range sine(rateHz, 1000, -6, degrees*math.Pi/180, 2) {
			buf[i][1] = f[0]
		}
		fold := MonoFoldOf(buf, rateHz)
		near(t, fmt.Sprintf("loudness at %g°", degrees), fold.LossLU, 6.0206-sumDB, 0.002)
		near(t, fmt.Sprintf("1 kHz band at %g°", degrees), fold.BandsDB[17], 6.0206-sumDB, 0.01)
	}
}

// One channel 1 ms late: in mono a comb with its notches at 500 and 1500 Hz
// and its peaks at 1000 and 2000 Hz. A band's loss is that of the mean of
// cos²(πfτ) over it; pink noise weighs each octave alike.
func TestMonoFoldOfADelay(t *testing.T) {
	const rateHz, tauS = 48000, 0.001
	buf := make([]dsp.Frame, 20*rateHz)
	dsp.NewPink(rateHz, 3).Fill(buf)
	dsp.Gain(0.1).Process(buf)
	for i := len(buf) - 1; i >= 0; i-- {
		buf[i][1] = 0
		if i >= rateHz/1000 {
			buf[i][1] = buf[i-rateHz/1000][0]
		}
	}
	fold := MonoFoldOf(buf, rateHz)
	for i := dsp.NearestThirdOctave(100); i <= dsp.NearestThirdOctave(2000); i++ {
		lo, hi := dsp.ThirdOctaveEdges(i)
		sum, n := 0.0, 1000
		for k := range n {
			c := math.Cos(math.Pi * tauS * lo * math.Pow(hi/lo, (float64(k)+0.5)/float64(n)))
			sum += c * c
		}
		near(t, dsp.FormatHz(dsp.NominalHz(i)), fold.BandsDB[i], -dsp.PowerToDB(sum/float64(n)), 0.4)
	}
	if at500, at1000 := fold.BandsDB[14], fold.BandsDB[17]; at500 < 10 || at1000 > 1 {
		t.Errorf("a loss of %.2f dB at the first notch and of %.2f dB at the first peak", at500, at1000)
	}
}

func TestMonoFoldLimits(t *testing.T) {
	mono := sine(48000, 1000, -20, 0, 1)
	if fold := MonoFoldOf(mono, 48000); fold.LossLU != 0 || fold.BandsDB[17] != 0 {
		t.Errorf("mono loses %g LU and %g dB", fold.LossLU, fold.BandsDB[17])
	}
	for i := range mono {
		mono[i][1] *= -1
	}
	if fold := MonoFoldOf(mono, 48000); !math.IsInf(fold.LossLU, 1) || !math.IsInf(fold.BandsDB[17], 1) {
		t.Errorf("opposite channels lose %g LU and %g dB", fold.LossLU, fold.BandsDB[17])
	}
	if fold := MonoFoldOf(nil, 48000); !math.IsNaN(fold.LossLU) || !math.IsNaN(fold.BandsDB[17]) {
		t.Errorf("nothing loses %g LU and %g dB", fold.LossLU, fold.BandsDB[17])
	}
}
