package saturation

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// The curves against asoftclip of ffmpeg, on three low tones that reach 1.5:
// so low that neither aliasing nor averaging counts, and the curve is all that
// is compared. ffmpeg's cubic is flat from 1.5 on, so ours is driven by 1/1.5.
func TestCurvesAgainstFFmpeg(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed")
	}
	in := dsptest.Sine(48000, 31, 0.5, 0, 48000)
	for _, freqHz := range []float64{47, 73} {
		for i, f := range dsptest.Sine(48000, freqHz, 0.5, 0, 48000) {
			in[i] = dsp.Frame{in[i][0] + f[0], in[i][1] - f[1]}
		}
	}
	for kind, c := range map[string]struct {
		spec    dsp.Spec
		driveDB float64
		mostDB  float64
	}{
		"hard":  {HardClip, 0, -90}, // the corner, averaged over a step
		"tanh":  {Tanh, 0, -130},
		"cubic": {SoftClip, dsp.ToDB(1 / 1.5), -80}, // ffmpeg writes 0.1481 for 4/27
	} {
		var pcm bytes.Buffer
		binary.Write(&pcm, binary.LittleEndian, in)
		cmd := exec.Command(ffmpeg, "-v", "error", "-f", "f64le", "-ar", "48000", "-ac", "2", "-i", "-",
			"-af", "aformat=dbl,asoftclip=type="+kind, "-f", "f64le", "-")
		cmd.Stdin = &pcm
		raw, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		want, got := make([]dsp.Frame, len(raw)/16), slices.Clone(in)
		binary.Read(bytes.NewReader(raw), binary.LittleEndian, want)
		if len(want) != len(in) {
			t.Fatalf("ffmpeg gives %d frames", len(want))
		}
		p := made(t, c.spec, 48000, driven(c.spec, c.driveDB))
		p.Process(got)
		var signal, residue float64
		for i, f := range got[dsp.DelayFrames(p):] {
			for side := range 2 {
				signal += want[i][side] * want[i][side]
				residue += math.Pow(f[side]-want[i][side], 2)
			}
		}
		level := dsp.PowerToDB(residue / signal)
		t.Logf("%s: residue %.1f dB", kind, level)
		if !(level < c.mostDB) {
			t.Errorf("%s: ffmpeg's curve differs by %.1f dB", kind, level)
		}
	}
}
