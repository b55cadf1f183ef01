package measure

import (
	"fmt"
	"math"
	"testing"

	"strop/dsp"
)

// The identities are exact; independent noise scatters by 1/√n, of which
// three are allowed.
func TestCorrelation(t *testing.T) {
	const n = 48000
	noise, other := make([]dsp.Frame, n), make([]dsp.Frame, n)
	dsp.NewWhite(1).Fill(noise)
	dsp.NewWhite(2).Fill(other)
	for name, c := range map[string]struct {
		right           func(i int) dsp.Frame // both channels of frame i
		want, tolerance float64
	}{
		"the same":             {func(i int) dsp.Frame { return dsp.Frame{noise[i][0], noise[i][0]} }, 1, 1e-12},
		"the same, half":       {func(i int) dsp.Frame { return dsp.Frame{noise[i][0], noise[i][0] / 2} }, 1, 1e-12},
		"inverted":             {func(i int) dsp.Frame { return dsp.Frame{noise[i][0], -noise[i][0]} }, -1, 1e-12},
		"independent":          {func(i int) dsp.Frame { return noise[i] }, 0, 3 / math.Sqrt(n)},
		"right silent":         {func(i int) dsp.Frame { return dsp.Frame{noise[i][0], 0} }, 0, 0},
		"silence":              {func(int) dsp.Frame { return dsp.Frame{} }, 0, 0},
		"side at half the mid": {func(i int) dsp.Frame { m, s := noise[i][0], other[i][1]/2; return dsp.Frame{m + s, m - s} }, 0.6, 0.01},
	} {
		buf := make([]dsp.Frame, n)
		for i := range buf {
			buf[i] = c.right(i)
		}
		near(t, name, Correlation(buf), c.want, c.tolerance)
	}
	for degrees, want := range map[float64]float64{0: 1, 60: 0.5, 90: 0, 120: -0.5, 180: -1} {
		buf := make([]dsp.Frame, n)
		for i := range buf {
			w := 2 * math.Pi * float64(i) / 48
			buf[i] = dsp.Frame{math.Sin(w), 0.3 * math.Sin(w+degrees*math.Pi/180)}
		}
		near(t, fmt.Sprintf("%g°", degrees), Correlation(buf), want, 1e-9)
	}
	tiny := []dsp.Frame{{1e-200, 1e-200}, {-1e-200, -1e-200}}
	near(t, "beyond what can be squared", Correlation(tiny), 0, 0)
	if r := Correlation([]dsp.Frame{{math.NaN(), 1}}); !math.IsNaN(r) {
		t.Errorf("a NaN reads %g", r)
	}
}

func TestRMSAndCrest(t *testing.T) {
	full, square := sine(48000, 1000, 0, 0.3, 1), make([]dsp.Frame, 1000)
	for i := range square {
		square[i] = dsp.Frame{float64(i%2*2 - 1), float64(1 - i%2*2)}
	}
	near(t, "rms of a sine", RMSDBFS(full), 0, 1e-9)
	near(t, "rms of a square", RMSDBFS(square), 3.0103, 1e-4)
	near(t, "crest of a square", CrestDB(square), 0, 1e-9)
	near(t, "crest of a sine", CrestDB(sine(48000, 1000, -20, 0, 1)), 3.0103, 1e-4)
	for i := range full {
		full[i][1] = 0
	}
	near(t, "rms of a sine on one side", RMSDBFS(full), -3.0103, 1e-4)
	if got := RMSDBFS(nil); !math.IsInf(got, -1) {
		t.Errorf("nothing reads %g dBFS", got)
	}
	if got := CrestDB(make([]dsp.Frame, 9)); !math.IsNaN(got) {
		t.Errorf("the crest of silence reads %g dB", got)
	}
}
