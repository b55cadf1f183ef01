package dsp_test

import (
	"math"
	"strings"
	"testing"

	"strop/dsp"
)

// Exact mid-bands: IEC 61260-1:2014 base-ten formula, values tabulated to four
// decimals in python-acoustics' copy of the standard.
func TestThirdOctaves(t *testing.T) {
	want := []float64{19.9526, 25.1189, 31.6228, 39.8107, 50.1187, 63.0957, 79.4328, 100, 125.8925,
		158.4893, 199.5262, 251.1886, 316.2278, 398.1072, 501.1872, 630.9573, 794.3282, 1000, 1258.9254,
		1584.8932, 1995.2623, 2511.8864, 3162.2777, 3981.0717, 5011.8723, 6309.5734, 7943.2823, 10000,
		12589.2541, 15848.9319, 19952.6231}
	if len(want) != dsp.ThirdOctaves {
		t.Fatalf("%d bands, the table has %d", dsp.ThirdOctaves, len(want))
	}
	for i, f := range want {
		if got := dsp.ThirdOctaveHz(i); math.Abs(got-f) > 5.1e-5 {
			t.Errorf("band %d: %.4f Hz, want %.4f", i, got, f)
		}
		if got := dsp.NearestThirdOctave(dsp.NominalHz(i)); got != i {
			t.Errorf("nominal %g Hz is nearest to band %d, want %d", dsp.NominalHz(i), got, i)
		}
	}
	lo, hi := dsp.ThirdOctaveEdges(17)
	if math.Abs(lo-891.2509) > 5e-5 || math.Abs(hi-1122.0185) > 5e-5 {
		t.Errorf("edges of 1 kHz: %.4f %.4f", lo, hi)
	}
}

// Glasberg & Moore 1990; values computed from the formula in double precision
// by an independent program.
func TestCams(t *testing.T) {
	for _, c := range []struct{ hz, erbHz, cams float64 }{
		{50, 30.097, 1.8367}, {100, 35.494, 3.3696}, {250, 51.685, 6.8622}, {500, 78.669, 10.7665},
		{1000, 132.639, 15.6214}, {2000, 240.578, 21.1552}, {4000, 456.456, 27.1074},
		{8000, 888.212, 33.2945}, {16000, 1751.724, 39.6065},
	} {
		if got := dsp.ERBHz(c.hz); math.Abs(got-c.erbHz) > 6e-4 {
			t.Errorf("ERB at %g Hz: %.4f, want %.3f", c.hz, got, c.erbHz)
		}
		if got := dsp.Cams(c.hz); math.Abs(got-c.cams) > 6e-5 {
			t.Errorf("Cams at %g Hz: %.5f, want %.4f", c.hz, got, c.cams)
		}
	}
}

func TestParseHz(t *testing.T) {
	for text, want := range map[string]float64{
		"800": 800, "2k5": 2500, "2.5k": 2500, "2,5 kHz": 2500, " 63 Hz": 63, "12.5KHZ": 12500, "1k": 1000, "31.5": 31.5,
	} {
		if got, err := dsp.ParseHz(text); err != nil || got != want {
			t.Errorf("ParseHz(%q) = %g, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "k", "-3", "0", "1e3", "NaN", "inf", "2k5k", "2.5k5", "loud", "99999999", "0x10", "½"} {
		if got, err := dsp.ParseHz(text); err == nil {
			t.Errorf("ParseHz(%q) = %g, want an error", text, got)
		}
	}
}

func FuzzParseHz(f *testing.F) {
	f.Add("2k5")
	f.Fuzz(func(t *testing.T, text string) {
		if hz, err := dsp.ParseHz(text); err == nil && !(hz > 0 && hz <= 1e6) {
			t.Errorf("ParseHz(%q) = %g", text, hz)
		}
	})
}

func TestParamStep(t *testing.T) {
	p := dsp.Param{ID: "slopeDBOct", Name: "slope", Unit: "dB/oct", Min: -6, Max: 48, Step: 6}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	for i := range 10 {
		v := float64(6*i - 6)
		if p.Check(v) != nil || p.At(p.Place(v)) != v || p.At(p.Place(v)+0.04) != v || p.At(p.Place(v)-0.04) != v {
			t.Errorf("%g is a step, but Check says %v and At gives %g", v, p.Check(v), p.At(p.Place(v)+0.04))
		}
		if p.Check(v+1) == nil || p.Check(v+3) == nil {
			t.Errorf("%g and %g are no steps, but Check is silent", v+1, v+3)
		}
	}
	for _, bad := range []dsp.Param{
		{ID: "a", Name: "a", Min: 0, Max: 10, Step: 3}, {ID: "a", Name: "a", Min: 0, Max: 10, Step: -5},
		{ID: "a", Name: "a", Min: 1, Max: 10, Neutral: 1, Step: 3, Scale: dsp.Log}, {ID: "a", Name: "a", Min: 0, Max: 10, Neutral: 1, Step: 5},
	} {
		if bad.Validate() == nil {
			t.Errorf("Validate accepts %+v", bad)
		}
	}
}

func TestFormat(t *testing.T) {
	for hz, want := range map[float64]string{
		31.6228: "31.6 Hz", 100: "100 Hz", 999.4: "999 Hz", 999.9: "1 kHz", 2500: "2.5 kHz", 12589.25: "12.6 kHz",
	} {
		if got := dsp.FormatHz(hz); got != want {
			t.Errorf("FormatHz(%g) = %q, want %q", hz, got, want)
		}
	}
	for db, want := range map[float64]string{6: "+6.0 dB", -1.5: "−1.5 dB", 0.04: "0.0 dB", -0.04: "0.0 dB"} {
		if got := dsp.FormatDB(db); got != want {
			t.Errorf("FormatDB(%g) = %q, want %q", db, got, want)
		}
	}
}

// The slope of pink noise, measured in octaves: equal power in each.
func TestPinkIsPink(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000} {
		const n = 1 << 19
		buf := make([]dsp.Frame, n)
		dsp.NewPink(rateHz, 1).Fill(buf)
		total, prev := 0.0, 0.0
		for i := range buf {
			total += buf[i][0] * buf[i][0] / n
		}
		if math.Abs(dsp.PowerToDB(total)) > 0.5 {
			t.Errorf("%g Hz: rms %.2f dB, want 0", rateHz, dsp.PowerToDB(total))
		}
		for hz := 160.0; hz < 0.2*rateHz; hz *= 2 {
			level := dsp.PowerToDB(octavePower(buf, rateHz, hz))
			if prev != 0 && math.Abs(level-prev) > 0.6 {
				t.Errorf("%g Hz: octave at %g Hz is %.2f dB from the one below", rateHz, hz, level-prev)
			}
			prev = level
		}
	}
}

// octavePower is the power in about an octave around hz, by a plain resonator
// of Q √2: crude, but the same shape at every frequency.
func octavePower(buf []dsp.Frame, rateHz, hz float64) float64 {
	w := 2 * math.Pi * hz / rateHz
	alpha := math.Sin(w) / (2 * math.Sqrt2)
	b, a1, a2 := alpha/(1+alpha), -2*math.Cos(w)/(1+alpha), (1-alpha)/(1+alpha)
	var x1, x2, y1, y2, sum float64
	for i := range buf {
		x := buf[i][0]
		y := b*(x-x2) - a1*y1 - a2*y2
		x1, x2, y1, y2 = x, x1, y, y1
		sum += y * y
	}
	return sum
}

func TestParam(t *testing.T) {
	p := dsp.Param{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, v := range []float64{20, 632.4555, 20000} {
		if got := p.At(p.Place(v)); math.Abs(got/v-1) > 1e-12 {
			t.Errorf("At(Place(%g)) = %g", v, got)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), 19, 20001} {
		if p.Check(v) == nil {
			t.Errorf("Check(%g) is silent", v)
		}
	}
	s := dsp.Setting{"freqHz": 50, "gain": 3}
	if err := s.Check([]dsp.Param{p}); err == nil || !strings.Contains(err.Error(), `"gain"`) {
		t.Errorf("Check of an unknown parameter: %v", err)
	}
	if got := s.With("freqHz", 80).Get(p); got != 80 || s.Get(p) != 50 {
		t.Errorf("With: %g, and the original %g", got, s.Get(p))
	}
}
