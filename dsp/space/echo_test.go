package space

import (
	"math"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

// Repeats come at multiples of the time, each by the feedback softer, in turn
// left and right where they are to.
func TestEchoRepeats(t *testing.T) {
	for _, c := range []struct {
		s      dsp.Setting
		frames int
	}{
		{dsp.Setting{"timeMS": 250}, 12000},
		{dsp.Setting{"timeMS": 0, "beats": 1, "tempoBPM": 120}, 24000},
		{dsp.Setting{"timeMS": 0, "beats": 0.75, "tempoBPM": 90}, 24000},
		{dsp.Setting{"timeMS": 10, "beats": 0.5, "tempoBPM": 150}, 480 + 9600},
	} {
		for pingPong := range 2 {
			s := c.s.With("echoDB", -6).With("feedbackPct", 50).With("pingpong", float64(pingPong))
			p, err := Echo.New(48000, s)
			if err != nil {
				t.Fatal(err)
			}
			buf := dsptest.Impulse(5*c.frames, 0)
			p.Process(buf)
			for i := range buf {
				want := dsp.Frame{}
				if k := i / c.frames; k == 0 && i == 0 {
					want = dsp.Frame{1, 1}
				} else if i%c.frames == 0 {
					level := dsp.FromDB(-6) * math.Pow(0.5, float64(k-1))
					want = dsp.Frame{level, level}
					if pingPong == 1 {
						want[k%2] = 0 // the first is left
					}
				}
				for side := range 2 {
					if math.Abs(buf[i][side]-want[side]) > 1e-12 {
						t.Fatalf("{%v} frame %d: %v, want %v", s, i, buf[i], want)
					}
				}
			}
		}
	}
}

// First-order Butterworth: 3.01 dB at the corner, 6 dB an octave; each repeat
// passes both once more.
func TestEchoCuts(t *testing.T) {
	p, err := Echo.New(48000, dsp.Setting{"timeMS": 100, "feedbackPct": 50, "lowcutHz": 200, "highcutHz": 4000, "echoDB": 0})
	if err != nil {
		t.Fatal(err)
	}
	buf := dsptest.Impulse(4*4800, 0)
	p.Process(buf)
	for _, freqHz := range []float64{50, 200, 900, 4000, 8000} {
		warp := func(hz float64) float64 { return math.Tan(math.Pi * hz / 48000) }
		low, high := warp(200)/warp(freqHz), warp(freqHz)/warp(4000)
		once := -10*math.Log10(1+low*low) - 10*math.Log10(1+high*high)
		for k := 1; k <= 3; k++ {
			got := transformDB(buf[k*4800:(k+1)*4800], freqHz/48000)
			if want := float64(k)*once - float64(k-1)*dsp.ToDB(2); math.Abs(got-want) > 0.01 {
				t.Errorf("repeat %d at %g Hz: %.3f dB, want %.3f", k, freqHz, got, want)
			}
		}
	}
}

// transformDB is the level of the left channel's transform at a frequency.
func transformDB(buf []dsp.Frame, cycles float64) float64 {
	var re, im float64
	for i, x := range buf {
		sin, cos := math.Sincos(2 * math.Pi * cycles * float64(i))
		re += x[0] * cos
		im -= x[0] * sin
	}
	return dsp.PowerToDB(re*re + im*im)
}

func TestEchoRefuses(t *testing.T) {
	if _, err := Echo.New(48000, dsp.Setting{"timeMS": 0.4}); err == nil {
		t.Error("an echo after 0.4 ms is taken")
	}
}
