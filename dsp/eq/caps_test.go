package eq_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
	"strop/dsp/eq"
)

// The four-band equaliser of the LADSPA collection caps, one band of it, heard
// through ffmpeg. Its Q is a knob from 0 to 1, so ours is taken from the
// frequency at which theirs has half its gain; centre, gain and the whole
// curve must then agree. Where they may differ: it computes in 32 bits and, as
// the cookbook does, by the bilinear transform, which is 0.05 dB at 1 kHz.
func TestAgainstCaps(t *testing.T) {
	const plugin, rateHz, freqHz = "/usr/lib/ladspa/caps.so", 48000, 1000.0
	if _, err := os.Stat(plugin); err != nil {
		t.Skip("not cross-checked: caps is not installed")
	}
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("not cross-checked: there is no ffmpeg here")
	}
	for _, gainDB := range []string{"6", "-9"} {
		theirs := capsBand(t, gainDB)
		centreDB := toneGainDB(theirs, rateHz, freqHz)
		half := 0.1 // octaves from the centre to half the gain
		for math.Abs(toneGainDB(theirs, rateHz, freqHz*math.Exp2(half))) > math.Abs(centreDB)/2 {
			half *= 1.005
		}
		c := eq.MatchedPeak(rateHz, freqHz, centreDB, eq.QFromOct(2*half))
		for _, hz := range []float64{125, 250, 500, 707, 850, 1000, 1180, 1414, 2000, 4000, 8000} {
			h := c.Response(rateHz, hz)
			ours := 10 * math.Log10(real(h)*real(h)+imag(h)*imag(h))
			if got := toneGainDB(theirs, rateHz, hz); math.Abs(got-ours) > 0.1 {
				t.Errorf("%s dB: theirs is %.3f dB at %g Hz, ours %.3f", gainDB, got, hz, ours)
			}
		}
		t.Logf("%s dB: centre %.3f dB, width %.3f octaves", gainDB, centreDB, 2*half)
	}
}

// capsBand is the impulse response of one band at 1 kHz.
func capsBand(t *testing.T, gainDB string) []dsp.Frame {
	t.Helper()
	in, out := filepath.Join(t.TempDir(), "in.raw"), filepath.Join(t.TempDir(), "out.raw")
	writeRaw(t, in, dsptest.Impulse(1<<16, 1<<12))
	filter := "ladspa=file=caps:plugin=Eq4p:c=-1|100|0.25|0|1|1000|0.5|" + gainDB + "|-1|100|0.25|0|-1|100|0.25|0"
	args := []string{"-v", "error", "-f", "f64le", "-ar", "48000", "-ac", "2", "-i", in, "-af", filter, "-f", "f64le", "-ac", "2", out}
	if text, err := exec.Command("ffmpeg", args...).CombinedOutput(); err != nil {
		t.Fatalf("ffmpeg: %v\n%s", err, text)
	}
	return readRaw(t, out)
}

// toneGainDB is the gain of an impulse response at a frequency.
func toneGainDB(response []dsp.Frame, rateHz, freqHz float64) float64 {
	var re, im float64
	for i := range response {
		sin, cos := math.Sincos(2 * math.Pi * freqHz / rateHz * float64(i))
		re += response[i][0] * cos
		im += response[i][0] * sin
	}
	return 10 * math.Log10(re*re+im*im)
}
