package content

import (
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"strop/content/demo"
	"strop/content/pcm/pcmtest"
	"strop/dsp"
)

// A 997 Hz sine at −20 dBFS on both channels: −20.0 LUFS by ITU-R BS.1770-5
// Annex 1 (one channel at 0 dBFS reads −3.01), true peak −20 dBTP, and all of
// its power in the third octave at 1 kHz.
func TestClipIsMeasured(t *testing.T) {
	frames := make([]dsp.Frame, 10*testRateHz)
	for i := range frames {
		v := 0.1 * math.Sin(2*math.Pi*997*float64(i)/testRateHz)
		frames[i] = dsp.Frame{v, v}
	}
	l := FindLoops(mustDecode(t, frames, testRateHz))
	for range 2 { // the second time from memory
		c, err := l.Clip(t.Context(), 0)
		if err != nil {
			t.Fatal(err)
		}
		if c.Name != "song.wav 0:00–0:10" || c.Loop != (Loop{"hash", 0, len(frames), testRateHz}) || len(c.Frames) != len(frames) {
			t.Errorf("%s: %+v, %d frames", c.Name, c.Loop, len(c.Frames))
		}
		f := c.Facts
		if math.Abs(f.LoudnessLUFS+20) > 0.1 || math.Abs(f.TruePeakDBTP+20) > 0.1 || math.Abs(f.TotalDB+20) > 0.05 || math.Abs(f.BandsDB[17]+20) > 0.05 {
			t.Errorf("%+v", f)
		}
	}
}

// A recorded loop is found again by what was recorded of it, and by nothing
// else.
func TestFindClip(t *testing.T) {
	l := FindLoops(mustDecode(t, ramp(15*testRateHz), testRateHz))
	loop := Loop{Material: "hash", StartFrame: 70_001, Frames: 96_000, RateHz: testRateHz}
	c, err := l.Find(t.Context(), loop)
	if err != nil || c.Loop != loop || c.Name != "song.wav 0:01–0:03" {
		t.Fatalf("%+v, %s, %v", c.Loop, c.Name, err)
	}
	for i, f := range c.Frames {
		if f[0] != float64(70_001+i)/(1<<23) {
			t.Fatalf("frame %d is %v", i, f)
		}
	}
	for name, bad := range map[string]Loop{
		"another material": {"other", 0, 96_000, testRateHz},
		"another rate":     {"hash", 0, 96_000, 44100},
		"before":           {"hash", -1, 96_000, testRateHz},
		"empty":            {"hash", 0, 0, testRateHz},
		"beyond":           {"hash", 14 * testRateHz, 2 * testRateHz, testRateHz},
		"overflow":         {"hash", math.MaxInt, math.MaxInt, testRateHz},
	} {
		if _, err := l.Find(t.Context(), bad); err == nil || !strings.HasPrefix(err.Error(), "song.wav: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The built-in pieces, of which the tempo is known.
func TestLoopsOfDemos(t *testing.T) {
	tempo := map[string]float64{"kettle": 104, "lanterns": 84}
	for _, name := range []string{"kettle", "lanterns", "pink"} {
		p, err := demo.Find(name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Start(t.Context(), p.Title, p.Hash, p.Open())
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Wait(t.Context()); err != nil {
			t.Fatal(err)
		}
		loops, found := allLoops(t, m), FindLoops(m)
		if len(loops) < 2 {
			t.Errorf("%s: %d loops", p.Name, len(loops))
		}
		for i, l := range loops {
			c, err := found.Clip(t.Context(), i)
			if err != nil || math.Abs(c.Facts.LoudnessLUFS+20) > 3 || c.Facts.TruePeakDBTP > -1 {
				t.Errorf("%s: %+v, %v", c.Name, c.Facts, err)
			}
			if bpm := tempo[p.Name]; bpm > 0 {
				beats := float64(l.Frames) / l.RateHz * bpm / 60
				off := max(fromBeat(startS(l), bpm, 0.25), fromBeat(endS(l), bpm, 0.25))
				if off > 0.025 || math.Abs(beats-math.Round(beats)) > 0.01*beats { // people are up to 10 ms off
					t.Errorf("%s: %.2f–%.2f s, %.3f beats, %.1f ms off", p.Name, startS(l), endS(l), beats, 1000*off)
				}
			}
		}
	}
}

// An orchestra that nobody here recorded, decoded by ffmpeg: silences as
// ffmpeg finds them lie in no loop.
func TestLoopsOfMusic(t *testing.T) {
	song := filepath.Join(pcmtest.ModuleDir(t, "github.com/hajimehoshi/go-mp3"), "example", "classic.mp3")
	raw := pcmtest.Run(t, nil, "ffmpeg", "-v", "error", "-i", song, "-f", "f32le", "-ac", "2", "-")
	m := mustDecode(t, pcmtest.FromFloats(raw, 2), 44100)
	loops := allLoops(t, m)
	if len(loops) != maxLoops {
		t.Errorf("%d loops of six minutes", len(loops))
	}
	text, err := exec.Command("ffmpeg", "-nostats", "-i", song, "-af", "silencedetect=noise=-60dB:d=0.7", "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatal(err)
	}
	for _, found := range regexp.MustCompile(`silence_end: ([0-9.]+) \| silence_duration: ([0-9.]+)`).FindAllStringSubmatch(string(text), -1) {
		end, _ := strconv.ParseFloat(found[1], 64)
		lasts, _ := strconv.ParseFloat(found[2], 64)
		for _, l := range loops {
			if startS(l) < end-0.05 && endS(l) > end-lasts+0.65 {
				t.Errorf("loop %.1f–%.1f s holds the silence %.1f–%.1f s", startS(l), endS(l), end-lasts, end)
			}
		}
	}
	h := lookAt(m, 60*44100, 90*44100)
	if r := findRhythm(h.onsets(), h.rateHz); r.clarity < clearRhythm {
		t.Errorf("no beat in a march, clarity %.2f", r.clarity)
	}
}
