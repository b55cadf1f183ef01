package dsptest_test

import (
	"math"
	"slices"
	"testing"

	"strop/dsp"
	"strop/dsp/dsptest"
)

func peak(buf []dsp.Frame) (most float64) {
	for _, f := range buf {
		most = max(most, math.Abs(f[0]), math.Abs(f[1]))
	}
	return most
}

// crossings counts upward zero crossings of the left channel.
func crossings(buf []dsp.Frame) (n int) {
	for i := 1; i < len(buf); i++ {
		if buf[i-1][0] < 0 && buf[i][0] >= 0 {
			n++
		}
	}
	return n
}

func TestSignals(t *testing.T) {
	if n := crossings(dsptest.Sine(48000, 997, 0.5, -1, 48000)); n != 997 {
		t.Errorf("a second of 997 Hz has %d cycles", n)
	}
	// From 20 Hz to 20 kHz a sweep of T passes T·(f2−f1)/ln(f2/f1) cycles.
	if n := crossings(dsptest.Sweep(48000, 20, 20000, 1, 96000)); math.Abs(float64(n)-2*19980/math.Log(1000)) > 1 {
		t.Errorf("a sweep of 2 s has %d cycles, want %.1f", n, 2*19980/math.Log(1000))
	}
	if got := peak(dsptest.Music(48000, 1, 48000)); math.Abs(got-0.5) > 1e-12 {
		t.Errorf("music peaks at %g", got)
	}
	if slices.Equal(dsptest.Music(48000, 1, 1000), dsptest.Music(48000, 2, 1000)) {
		t.Error("the seed does not change the music")
	}
	if !slices.Equal(dsptest.Noise(3, 0.5, 1000), dsptest.Noise(3, 0.5, 1000)) {
		t.Error("the same seed does not give the same noise")
	}
	for _, f := range dsptest.Square(48000, 440, 0.3, 1000) {
		if math.Abs(f[0]) != 0.3 {
			t.Fatalf("a square of 0.3 holds %g", f[0])
		}
	}
	if i := dsptest.Impulse(10, 4); i[4] != (dsp.Frame{1, 1}) || peak(i[:4]) != 0 || peak(i[5:]) != 0 {
		t.Errorf("impulse %v", i)
	}
}
