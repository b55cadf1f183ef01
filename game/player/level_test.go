package player_test

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"strop/dsp"
	"strop/game/player"
)

func levelNoise(t *testing.T, hz, lufs float64) []dsp.Frame {
	t.Helper()
	p, err := player.LevelNoise(hz, lufs, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Validate(); err != nil || !p.Seamless || p.Frames() != int(10*hz) || len(p.Sides) != 1 {
		t.Fatalf("%d frames, %d sides: %v", p.Frames(), len(p.Sides), err)
	}
	return p.Sides[0]
}

var integrated = regexp.MustCompile(`I:\s+(-?[0-9.]+) LUFS`)

// The noise has the loudness asked for, as ffmpeg's ebur128 measures it, which
// states tenths.
func TestLevelNoiseLoudness(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("needs ffmpeg")
	}
	for _, hz := range []float64{44100, 48000, 96000} {
		var raw bytes.Buffer
		if err := player.Raw(&raw)(levelNoise(t, hz, -23)); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-f", "f32le", "-ar", fmt.Sprint(hz), "-ac", "2", "-i", "-",
			"-af", "ebur128", "-f", "null", "-")
		cmd.Stdin = &raw
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		all := integrated.FindAllSubmatch(out, -1)
		if all == nil {
			t.Fatalf("ffmpeg says no loudness: %s", out)
		}
		if got, _ := strconv.ParseFloat(string(all[len(all)-1][1]), 64); math.Abs(got+23) > 0.101 {
			t.Errorf("%g Hz: %g LUFS by ffmpeg, want -23", hz, got)
		}
	}
}

// Where the loop begins again nothing is to be heard: the step there, the
// slope before and after, and the power around it are like those anywhere.
func TestLevelNoiseSeam(t *testing.T) {
	loop := levelNoise(t, rateHz, -23)
	n := len(loop)
	power := func(from, frames int) float64 {
		sum := 0.0
		for i := range frames {
			f := loop[(from+i)%n]
			sum += (f[0]*f[0] + f[1]*f[1]) / float64(2*frames)
		}
		return dsp.PowerToDB(sum)
	}
	steps := make([]float64, n)
	for i := range loop {
		steps[i] = math.Abs(loop[(i+1)%n][0] - loop[i][0])
	}
	seam := steps[n-1]
	slices.Sort(steps)
	if at, _ := slices.BinarySearch(steps, seam); at > n*999/1000 {
		t.Errorf("the step at the seam is %g, larger than %.2f %% of all", seam, 100*float64(at)/float64(n))
	}
	whole := power(0, n)
	for from := n - 24000; from < n+48000; from += 6000 {
		if d := power(from, 24000) - whole; math.Abs(d) > 1 {
			t.Errorf("half a second from %d on: %.2f dB from the whole", from, d)
		}
	}
}

func TestLevelNoiseRefuses(t *testing.T) {
	for _, c := range [][2]float64{{48000, -10}, {48000, math.NaN()}, {48000, -80}, {0, -23}, {math.NaN(), -23}} {
		if _, err := player.LevelNoise(c[0], c[1], 1); err == nil {
			t.Errorf("%g Hz at %g LUFS is made", c[0], c[1])
		}
	}
}
