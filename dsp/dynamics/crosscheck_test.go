package dynamics

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// through is what a program makes of frames of 64-bit floats at 48 kHz.
func through(t *testing.T, in []dsp.Frame, program string, args ...string) []dsp.Frame {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("%s is not installed", program)
	}
	var pcm bytes.Buffer
	binary.Write(&pcm, binary.LittleEndian, in)
	cmd := exec.Command(path, args...)
	cmd.Stdin = &pcm
	raw, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", program, err)
	}
	out := make([]dsp.Frame, len(raw)/16)
	binary.Read(bytes.NewReader(raw), binary.LittleEndian, out)
	return out
}

func throughSox(t *testing.T, in []dsp.Frame, effect ...string) []dsp.Frame {
	t.Helper()
	return through(t, in, "sox", append([]string{"-t", "f64", "-r", "48000", "-c", "2", "-", "-t", "f64", "-"}, effect...)...)
}

func throughFFmpeg(t *testing.T, in []dsp.Frame, filter string) []dsp.Frame {
	t.Helper()
	return through(t, in, "ffmpeg", "-loglevel", "error", "-f", "f64le", "-ar", "48000", "-ac", "2", "-i", "-",
		"-af", filter, "-c:a", "pcm_f64le", "-f", "f64le", "-")
}

// stairs is a sine of 997 Hz, or a square of about 1 kHz, that rises by 4 dB a
// second from −58 to −2 dB.
func stairs(square bool) []dsp.Frame {
	const n = 48000
	buf := dsptest.Sine(48000, 997, 1, 0.3, 15*n)
	if square {
		buf = dsptest.Square(48000, 1000, 1, 15*n)
	}
	for i := range 15 {
		dsp.Gain(dsp.FromDB(4*float64(i) - 58)).Process(buf[i*n : (i+1)*n])
	}
	return buf
}

// compare expects our processor and another one to do the same to each stair,
// in its last quarter, within tolDB.
func compare(t *testing.T, who string, p dsp.Processor, in, theirs []dsp.Frame, tolDB float64) {
	t.Helper()
	ours := slices.Clone(in)
	p.Process(ours)
	worst := 0.0
	for i := range 15 {
		from, to := i*48000+36000, min((i+1)*48000, len(theirs))
		us, them := gainDB(in, ours, from, to), gainDB(in, theirs, from, to)
		worst = max(worst, math.Abs(us-them))
		if !(math.Abs(us-them) <= tolDB) {
			t.Errorf("%s at %d dB: ours %.3f dB, theirs %.3f", who, 4*i-58, us, them)
		}
	}
	t.Logf("%s: worst %.3f dB", who, worst)
}

// The LADSPA compressor SC4 (S. Harris, swh-plugins) with its RMS detector,
// which reads a sine 3.01 dB lower, and a knee given by its half width. It keeps
// levels in tables and takes the mean square over 64 frames (from memory), which
// ripples: 0.1 dB.
func TestCompressorAgainstSC4(t *testing.T) {
	const plugin = "/usr/lib/ladspa/sc4_1882.so"
	if _, err := os.Stat(plugin); err != nil {
		t.Skipf("%s (swh-plugins) is not installed", plugin)
	}
	in := stairs(false)
	theirs := throughFFmpeg(t, in, "ladspa=file="+plugin+":plugin=sc4:c=0|5|200|-23.0103|4|5|0")
	compare(t, "SC4", build(t, Compressor, dsp.Setting{"thresholdDB": -20, "ratio": 4, "kneeDB": 10, "attackMS": 5, "releaseMS": 200}), in, theirs, 0.1)
}

// sox compand on a square, whose every sample has the same level: there the
// detectors have nothing to differ in. It computes in 32-bit integers.
func TestCompressorAgainstSox(t *testing.T) {
	in := stairs(true)
	theirs := throughSox(t, in, "compand", "0.005,0.1", "-90,-90,-20,-20,0,-15", "0", "-90")
	compare(t, "sox compand", build(t, Compressor, dsp.Setting{"thresholdDB": -20, "ratio": 4, "kneeDB": 0, "attackMS": 5}), in, theirs, 0.005)
}

// ffmpeg's acompressor on the same square, without a knee.
func TestCompressorAgainstFFmpeg(t *testing.T) {
	in := stairs(true)
	theirs := throughFFmpeg(t, in, "acompressor=threshold=0.1:ratio=4:attack=5:release=100:knee=1:detection=peak")
	compare(t, "acompressor", build(t, Compressor, dsp.Setting{"thresholdDB": -20, "ratio": 4, "kneeDB": 0, "attackMS": 5}), in, theirs, 0.005)
}
