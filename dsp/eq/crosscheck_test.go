package eq_test

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// outside is a filter as sox and ffmpeg are asked for it.
type outside struct {
	ours         dsp.Processor
	ffmpeg, sox  string
	ffmpegDB     float64 // what may be left of the difference, relative to the output
	soxDB        float64
	whyTolerance string
}

const (
	exact   = "the same bilinear design; ffmpeg keeps 64 bits, sox goes through 32-bit whole numbers"
	matched = "a matched design against a bilinear one, low enough to be almost alike"
	leading = "a matched design without the bilinear one's zeros at half the rate, and so without their half a frame of delay each"
)

func processor(t *testing.T, spec dsp.Spec, s dsp.Setting) dsp.Processor {
	t.Helper()
	p, err := spec.New(48000, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// In ffmpeg the q of a shelf is smaller by √2 than the cookbook's, so that 0.5
// is a slope of 1.
func outsiders(t *testing.T) []outside {
	return []outside{
		{eq.NewBiquad(eq.CookbookPeak(48000, 3000, 6, 2)), "equalizer=f=3000:t=q:w=2:g=6", "equalizer 3000 2q 6", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookLowShelf(48000, 100, 6, 1)), "bass=f=100:t=q:w=0.5:g=6", "bass 6 100 1s", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookHighShelf(48000, 8000, -4, 1)), "treble=f=8000:t=q:w=0.5:g=-4", "treble -4 8000 1s", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookLowPass(48000, 1000, 2)), "lowpass=f=1000:t=q:w=2", "lowpass 1000 2q", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookHighPass(48000, 80, 0.5)), "highpass=f=80:t=q:w=0.5", "highpass 80 0.5q", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookBandPass(48000, 1000, 2)), "bandpass=f=1000:t=q:w=2", "bandpass 1000 2q", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookNotch(48000, 50, 10)), "bandreject=f=50:t=q:w=10", "bandreject 50 10q", -220, -150, exact},
		{eq.NewBiquad(eq.CookbookAllPass(48000, 1000, 0.7)), "allpass=f=1000:t=q:w=0.7", "allpass 1000 0.7q", -220, -150, exact},
		{processor(t, eq.Peak, dsp.Setting{"freqHz": 200, "gainDB": -9, "q": 2}), "equalizer=f=200:t=q:w=2:g=-9", "equalizer 200 2q -9", -80, -80, matched},
		{processor(t, eq.LowShelf, dsp.Setting{"freqHz": 100, "gainDB": 6}), "bass=f=100:t=q:w=0.5:g=6", "bass 6 100 1s", -80, -80, matched},
		{processor(t, eq.HighShelf, dsp.Setting{"freqHz": 200, "gainDB": -6}), "treble=f=200:t=q:w=0.5:g=-6", "treble -6 200 1s", -80, -80, matched},
		{processor(t, eq.LowCut, dsp.Setting{"freqHz": 80, "slopeDBOct": 24}), "highpass=f=80:t=q:w=0.541196,highpass=f=80:t=q:w=1.306563", "highpass 80 0.541196q highpass 80 1.306563q", -80, -80, matched},
		{processor(t, eq.HighCut, dsp.Setting{"freqHz": 300, "slopeDBOct": 24, "cornerDB": -6}), "lowpass=f=300:t=q:w=0.70710678,lowpass=f=300:t=q:w=0.70710678", "lowpass 300 0.70710678q lowpass 300 0.70710678q", -33, -33, leading},
		{processor(t, eq.Notch, dsp.Setting{"freqHz": 50, "depthDB": 96, "q": 10}), "bandreject=f=50:t=q:w=10", "bandreject 50 10q", -80, -80, matched},
		{processor(t, eq.BandPass, dsp.Setting{"freqHz": 200, "outsideDB": -96, "q": 2}), "bandpass=f=200:t=q:w=2", "bandpass 200 2q", -33, -33, leading},
	}
}

func TestAgainstFFmpeg(t *testing.T) {
	against(t, "ffmpeg", func(in, out string, o outside) (args []string, mostDB float64) {
		filters := strings.ReplaceAll(o.ffmpeg, ",", ":r=f64,") + ":r=f64"
		return append(strings.Fields("-y -v error -f f64le -ar 48000 -ac 2 -i"), in, "-af", filters, "-f", "f64le", out), o.ffmpegDB
	})
}

func TestAgainstSox(t *testing.T) {
	against(t, "sox", func(in, out string, o outside) (args []string, mostDB float64) {
		raw := strings.Fields("-t f64 -r 48000 -c 2")
		return slices.Concat([]string{"-D"}, raw, []string{in}, raw, []string{out}, strings.Fields(o.sox)), o.soxDB
	})
}

// against sends the same pink noise through ours and a program's filter, and
// compares the difference with what it may be.
func against(t *testing.T, program string, ask func(in, out string, o outside) ([]string, float64)) {
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skip("not cross-checked: there is no " + program + " here")
	}
	sound := make([]dsp.Frame, 1<<16)
	dsp.NewPink(48000, 3).Fill(sound)
	dsp.Gain(0.05).Process(sound)
	in, out := filepath.Join(t.TempDir(), "in.raw"), filepath.Join(t.TempDir(), "out.raw")
	writeRaw(t, in, sound)
	for _, o := range outsiders(t) {
		args, mostDB := ask(in, out, o)
		asked := program + " " + strings.Join(args, " ")
		if text, err := exec.Command(path, args...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", asked, err, text)
		}
		theirs, ours := readRaw(t, out), slices.Clone(sound)
		o.ours.Process(ours)
		o.ours.Reset()
		got := differenceDB(ours, theirs)
		t.Logf("%s: %.1f dB", asked, got)
		if !(got < mostDB) {
			t.Errorf("%s: the difference is %.1f dB, want less than %g (%s)", asked, got, mostDB, o.whyTolerance)
		}
	}
}

// differenceDB is the level of the difference relative to a.
func differenceDB(a, b []dsp.Frame) float64 {
	var signal, difference float64
	for i := range a {
		for side := range 2 {
			signal += a[i][side] * a[i][side]
			difference += (a[i][side] - b[i][side]) * (a[i][side] - b[i][side])
		}
	}
	return dsp.PowerToDB(difference / signal)
}

func writeRaw(t *testing.T, path string, buf []dsp.Frame) {
	t.Helper()
	var raw bytes.Buffer
	if err := binary.Write(&raw, binary.LittleEndian, buf); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, raw.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func readRaw(t *testing.T, path string) []dsp.Frame {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]dsp.Frame, len(raw)/16)
	if err := binary.Read(bytes.NewReader(raw), binary.LittleEndian, buf); err != nil {
		t.Fatal(err)
	}
	return buf
}
