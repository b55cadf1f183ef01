package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"strop/dsp"
	"strop/dsp/fourier"
)

// scatterDB is three and a half standard deviations of the level of noise
// that lasts seconds on two independent channels: a power over a width in Hz
// and T seconds is a mean of about width·T independent values.
func scatterDB(widthHz, seconds float64) float64 {
	return 3.5 * 10 / math.Ln10 / math.Sqrt(2*widthHz*seconds)
}

// White noise of standard deviation s has the power s²·B/(rate/2) in B Hz.
func TestThirdOctavesOfWhite(t *testing.T) {
	const seconds, ratio = 30, 0.1
	for _, rateHz := range []float64{8000, 44100, 48000} {
		buf := make([]dsp.Frame, seconds*int(rateHz))
		dsp.NewWhite(7).Fill(buf)
		dsp.Gain(ratio).Process(buf)
		for i, got := range ThirdOctavesDB(buf, rateHz) {
			lo, hi := dsp.ThirdOctaveEdges(i)
			hi = min(hi, rateHz/2)
			if hi <= lo {
				if !math.IsInf(got, -1) {
					t.Errorf("%g Hz at a rate of %g Hz reads %g dB", dsp.NominalHz(i), rateHz, got)
				}
				continue
			}
			want := dsp.PowerToDB(ratio * ratio * (hi - lo) / (rateHz / 2) * 2) // re a sine's ½
			near(t, fmt.Sprintf("%g Hz at a rate of %g Hz", dsp.NominalHz(i), rateHz), got, want, scatterDB(hi-lo, seconds))
		}
	}
}

// Pink noise is as loud in every band. It is made here from its definition: a
// spectrum of power c/f and random phases, of which a band of 10^±0.05 holds
// c·ln(10)/10.
func TestThirdOctavesOfPink(t *testing.T) {
	const n, rateHz, ratio = 1 << 21, 48000.0, 0.01
	r := rand.New(rand.NewPCG(1, 5))
	re, im := make([]float64, n/2+1), make([]float64, n/2+1)
	for k := 1; k < n/2; k++ { // n/2 times the amplitude of a sine of power ratio²/k
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		amplitude := n / 2 * ratio * math.Sqrt(2/float64(k))
		re[k], im[k] = amplitude*cos, amplitude*sin
	}
	x, buf := make([]float64, n), make([]dsp.Frame, n)
	fourier.NewFFT(n).Inverse(x, re, im)
	for i := range buf {
		buf[i] = dsp.Frame{x[i], x[i]}
	}
	want := dsp.PowerToDB(2 * ratio * ratio * math.Ln10 / 10)
	levels := ThirdOctavesDB(buf, rateHz)
	for i, got := range levels {
		tolerance := 0.05 // the bins of a window are wide for the lowest bands
		if i >= 17 {
			tolerance = 0.002
		}
		near(t, fmt.Sprintf("%g Hz", dsp.NominalHz(i)), got, want, tolerance)
	}
}

// A full-scale sine reads 0 dB in its own band, anywhere within 0.8 of the
// way to its edges, and little in the others. At other rates than 48 kHz every
// fifth band is tried.
func TestThirdOctavesOfSines(t *testing.T) {
	for _, rateHz := range []float64{44100, 48000, 96000} {
		nextDB, farDB := math.Inf(-1), math.Inf(-1)
		for i := 0; i < dsp.ThirdOctaves; i++ {
			if rateHz != 48000 && i%5 != 0 {
				continue
			}
			for _, offset := range []float64{0, -0.04, 0.04} {
				freqHz := dsp.ThirdOctaveHz(i) * math.Pow(10, offset)
				levels := ThirdOctavesDB(slowlyFaded(sine(rateHz, freqHz, 0, 1, 4), rateHz), rateHz)
				mean := 10 * math.Log10((4-2*5/8.0)/4.0) // what the fades take away
				tolerance := 0.1
				if offset == 0 {
					tolerance = 0.01
				} else if i < 6 {
					tolerance = 1 // a window is short for so near an edge
				}
				near(t, fmt.Sprintf("%.1f Hz at a rate of %g Hz", freqHz, rateHz), levels[i], mean, tolerance)
				if offset != 0 {
					continue
				}
				near(t, "total", TotalDB(levels), mean, 0.01)
				for j, db := range levels {
					switch d := max(i-j, j-i); {
					case d == 1:
						nextDB = max(nextDB, db)
					case d > 1:
						farDB = max(farDB, db)
					}
				}
			}
		}
		if nextDB > -40 || farDB > -70 {
			t.Errorf("rate %g Hz: %.1f dB in the next band, %.1f dB in those further away", rateHz, nextDB, farDB)
		}
		t.Logf("rate %g Hz: %.1f dB in the next band, %.1f dB in those further away", rateHz, nextDB, farDB)
	}
}

// slowlyFaded fades 1 s in and out, so that a tone makes no click.
func slowlyFaded(buf []dsp.Frame, rateHz float64) []dsp.Frame { return faded(buf, 100*rateHz) }

// Every frame counts alike: a burst reads the same wherever it lies, also in
// a clip shorter than a window, and at the very start.
func TestThirdOctavesOfBurst(t *testing.T) {
	const rateHz = 48000
	for _, seconds := range []float64{0.5, 1.5, 6} {
		for start := 0.0; start <= seconds-0.1; start += 0.13 {
			buf := make([]dsp.Frame, int(seconds*rateHz))
			copy(buf[int(start*rateHz):], sine(rateHz, 1000, 0, 0, 0.1))
			near(t, fmt.Sprintf("0.1 s of %g s, from %g s on", seconds, start), ThirdOctavesDB(buf, rateHz)[17], 10*math.Log10(0.1/seconds), 0.1)
		}
	}
}

// Against sox: a steep band filter over the edges of the band, and the rms of
// what it lets through. 0.15 dB is for the width of its slopes.
func TestThirdOctavesAgainstSox(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		t.Skip("not cross-checked: there is no sox here")
	}
	for _, rateHz := range []float64{44100, 96000} {
		buf := musicLike(rateHz, 5, 12)
		levels := ThirdOctavesDB(buf, rateHz)
		path := writeRaw(t, buf)
		for _, i := range []int{8, 12, 17, 22, 27} {
			lo, hi := dsp.ThirdOctaveEdges(i)
			lowRate := strconv.FormatFloat(min(math.Ceil(6*hi), rateHz), 'f', -1, 64) // so that sox has enough taps
			out, err := exec.Command(sox, "-t", "f64", "-r", strconv.FormatFloat(rateHz, 'f', -1, 64), "-c", "2", path, "-n",
				"pad", "1", "1", "rate", "-v", lowRate, "sinc", "-a", "100", "-t", strconv.FormatFloat(lo/100, 'f', 3, 64), fmt.Sprintf("%.4f-%.4f", lo, hi), "stat").CombinedOutput()
			if err != nil {
				t.Fatalf("sox: %v\n%s", err, out)
			}
			rms := soxFigure(t, string(out), "RMS     amplitude:") * math.Sqrt(14.0/12) // over the padding
			near(t, fmt.Sprintf("%g Hz at a rate of %g Hz", dsp.NominalHz(i), rateHz), levels[i], dsp.PowerToDB(2*rms*rms), 0.15)
		}
	}
}

func soxFigure(t *testing.T, out, name string) float64 {
	t.Helper()
	_, after, found := strings.Cut(out, name)
	fields := strings.Fields(after)
	if !found || len(fields) == 0 {
		t.Fatalf("sox does not tell %q:\n%s", name, out)
	}
	v, err := strconv.ParseFloat(fields[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// writeRaw writes frames as little-endian float64, without a header.
func writeRaw(t *testing.T, buf []dsp.Frame) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "frames.f64")
	if err := os.WriteFile(path, rawBytes(buf), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestThirdOctavesOfLittle(t *testing.T) {
	for _, buf := range [][]dsp.Frame{nil, make([]dsp.Frame, 100), make([]dsp.Frame, 200000)} {
		levels := ThirdOctavesDB(buf, 48000)
		for i, db := range levels {
			if !math.IsInf(db, -1) {
				t.Errorf("silence of %d frames reads %g dB in band %d", len(buf), db, i)
			}
		}
		if !math.IsInf(TotalDB(levels), -1) {
			t.Errorf("silence reads %g dB in all", TotalDB(levels))
		}
	}
}

func TestThirdOctavesFollowGain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gainDB := rapid.Float64Range(-60, 40).Draw(t, "gainDB")
		buf := musicLike(8000, rapid.Uint64().Draw(t, "seed"), 3)
		before := ThirdOctavesDB(buf, 8000)
		dsp.Gain(dsp.FromDB(gainDB)).Process(buf)
		for i, db := range ThirdOctavesDB(buf, 8000) {
			if d := db - before[i] - gainDB; math.Abs(d) > 1e-9 { // NaN, of −Inf less −Inf, passes
				t.Fatalf("band %d is off by %g dB after %g dB", i, d, gainDB)
			}
		}
	})
}

func BenchmarkThirdOctaves(b *testing.B) {
	benchmarkMeter(b, NewThirdOctaveMeter(48000), musicLike(48000, 1, 30))
}
