package measure

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"strop/dsp"
)

// crossCheckSignals are long enough for a range, and differ in what the gates
// make of them.
func crossCheckSignals(rateHz float64) map[string][]dsp.Frame {
	noise := make([]dsp.Frame, int(10*rateHz))
	dsp.NewPink(rateHz, 11).Fill(noise)
	dsp.Gain(0.1).Process(noise)
	music := musicLike(rateHz, 12, 30)
	dsp.Gain(dsp.FromDB(-3)).Process(music)
	return map[string][]dsp.Frame{"noise": noise, "music-like": music}
}

// libebur128 gates exact energies, as here to 0.01 LU; its high-pass has a
// gain at other rates than 48 kHz that is up to 0.02 dB off (see kHighPass).
// Its range takes a window a second, not ten, which is far off where the level
// changes every few seconds, so that it is compared on noise alone. Its true
// peak is interpolated 4 times, 2 times from 96 kHz on, by 49 taps in all.
func TestAgainstLibebur128(t *testing.T) {
	program := buildLibebur128(t)
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for signal, buf := range crossCheckSignals(rateHz) {
			cmd := exec.Command(program, fmt.Sprint(rateHz))
			cmd.Stdin = bytes.NewReader(rawBytes(buf))
			out, err := cmd.Output()
			if err != nil {
				t.Fatal(err)
			}
			var integrated, rangeLU, momentary, shortTerm, truePeak, samplePeak float64
			if _, err := fmt.Sscan(string(out), &integrated, &rangeLU, &momentary, &shortTerm, &truePeak, &samplePeak); err != nil {
				t.Fatalf("%v in %q", err, out)
			}
			got := measureLoudness(buf, rateHz)
			name := fmt.Sprintf("%s at %g Hz: ", signal, rateHz)
			near(t, name+"integrated", got.IntegratedLUFS, integrated, 0.03)
			near(t, name+"momentary", got.MaxMomentaryLUFS, momentary, 0.03)
			near(t, name+"short-term", got.MaxShortTermLUFS, shortTerm, 0.03)
			if signal == "noise" {
				near(t, name+"range", got.RangeLU, rangeLU, 0.3)
			}
			near(t, name+"sample peak", SamplePeakDBFS(buf), dsp.ToDB(samplePeak), 1e-6)
			if d := TruePeakDBTP(buf, rateHz) - dsp.ToDB(truePeak); d < -0.05 || d > 0.6 {
				t.Errorf("%strue peak: %.3f dB above libebur128's", name, d)
			}
		}
	}
}

func buildLibebur128(t *testing.T) (program string) {
	t.Helper()
	cc, err := exec.LookPath("gcc")
	if err != nil {
		t.Skip("not cross-checked: there is no gcc here")
	}
	program = filepath.Join(t.TempDir(), "ebur128")
	if exec.Command(cc, "-E", "-include", "ebur128.h", "-x", "c", "/dev/null").Run() != nil {
		t.Skip("not cross-checked: there is no libebur128 here to compile with")
	}
	if out, err := exec.Command(cc, "-O2", "-o", program, "testdata/ebur128.c", "-lebur128", "-lm").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return program
}

// ffmpeg prints one decimal, which is 0.05 of the tolerance.
func TestAgainstFFmpeg(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("not cross-checked: there is no ffmpeg here")
	}
	for _, rateHz := range []float64{44100, 48000, 96000} {
		for name, buf := range crossCheckSignals(rateHz) {
			out, err := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-f", "f64le", "-ar", fmt.Sprint(rateHz), "-ac", "2", "-i", writeRaw(t, buf),
				"-af", "ebur128=peak=true+sample", "-f", "null", "-").CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			_, summary, _ := strings.Cut(string(out), "Summary:")
			got := measureLoudness(buf, rateHz)
			name = fmt.Sprintf("%s at %g Hz: ", name, rateHz)
			near(t, name+"integrated", got.IntegratedLUFS, ffmpegFigure(t, summary, "I:"), 0.1)
			near(t, name+"range", got.RangeLU, ffmpegFigure(t, summary, "LRA:"), 0.2)
			_, peaks, _ := strings.Cut(summary, "Sample peak:")
			near(t, name+"sample peak", SamplePeakDBFS(buf), ffmpegFigure(t, peaks, "Peak:"), 0.051)
			_, peaks, _ = strings.Cut(summary, "True peak:")
			if d := TruePeakDBTP(buf, rateHz) - ffmpegFigure(t, peaks, "Peak:"); d < -0.1 || d > 0.6 { // it makes 192 kHz
				t.Errorf("%strue peak: %.3f dB above ffmpeg's", name, d)
			}
		}
	}
}

func ffmpegFigure(t *testing.T, summary, name string) float64 {
	t.Helper()
	_, after, _ := strings.Cut(summary, name)
	fields := strings.Fields(after)
	if len(fields) == 0 {
		t.Fatalf("ffmpeg does not tell %q:\n%s", name, summary)
	}
	v, err := strconv.ParseFloat(fields[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
