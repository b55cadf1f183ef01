package eq_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"strop/dsp"
	"strop/dsp/eq"
)

// What an engineer dials is what a meter reads: a steady sine at the centre
// changes by the gain, to 0.001 dB. Common practice, no source.
func TestDialledGainIsMeasured(t *testing.T) {
	for _, c := range []struct{ rateHz, freqHz, gainDB, q float64 }{
		{48000, 500, -14, 1}, {48000, 500, 14, 4}, {44100, 63, -6, 0.7}, {96000, 12500, 9, 2}, {48000, 16000, -12, 1},
	} {
		p, err := eq.Peak.New(c.rateHz, dsp.Setting{"freqHz": c.freqHz, "gainDB": c.gainDB, "q": c.q})
		if err != nil {
			t.Fatal(err)
		}
		n := int(c.rateHz)
		buf := make([]dsp.Frame, 2*n)
		for i := range buf {
			x := 0.1 * math.Sin(2*math.Pi*c.freqHz*float64(i)/c.rateHz)
			buf[i] = dsp.Frame{x, -x}
		}
		p.Process(buf)
		for side := range 2 {
			sum := 0.0
			for _, f := range buf[n:] { // a whole second: whole cycles
				sum += f[side] * f[side]
			}
			near(t, fmt.Sprint(c), dsp.PowerToDB(sum/float64(n)/0.005), c.gainDB, 0.001)
		}
	}
}

func TestPeakAtZeroGainIsIdentical(t *testing.T) {
	for _, freqHz := range []float64{20, 1000, 20000} {
		p, err := eq.Peak.New(48000, dsp.Setting{"freqHz": freqHz, "q": 9})
		if err != nil {
			t.Fatal(err)
		}
		in, out := make([]dsp.Frame, 1000), make([]dsp.Frame, 1000)
		dsp.NewWhite(1).Fill(in)
		copy(out, in)
		p.Process(out)
		for i := range in {
			if in[i] != out[i] {
				t.Fatalf("%g Hz: frame %d is %v, was %v", freqHz, i, out[i], in[i])
			}
		}
	}
}

func TestPeakRefuses(t *testing.T) {
	_, err := eq.Peak.New(32000, dsp.Setting{"freqHz": 15680})
	if err == nil || !strings.Contains(err.Error(), "stay below 15680 Hz") {
		t.Errorf("15680 Hz at a rate of 32 kHz: %v", err)
	}
	if _, err := eq.Peak.New(32000, dsp.Setting{"freqHz": 15679}); err != nil {
		t.Error(err)
	}
}

// Silence after sound ends in exact zeros, not in denormals.
func TestBiquadRunsDown(t *testing.T) {
	p := eq.NewBiquad(eq.MatchedPeak(48000, 8000, 12, 2))
	buf := make([]dsp.Frame, 1<<15)
	buf[0] = dsp.Frame{1, -1}
	p.Process(buf)
	if end := buf[len(buf)-1]; end != (dsp.Frame{}) {
		t.Errorf("still %g after %d frames of silence", end, len(buf))
	}
}

func ExamplePeak() {
	p, err := eq.Peak.New(48000, dsp.Setting{"freqHz": 25000})
	fmt.Println(p, err)
	level := dsp.ToDB(real(eq.Peak.Response(48000, 500, dsp.Setting{"freqHz": 500, "gainDB": -14})))
	fmt.Println(dsp.FormatDB(level))
	// Output:
	// <nil> peak: freqHz=25000 is outside 10 to 20000 Hz
	// −14.0 dB
}

func BenchmarkBiquad(b *testing.B) {
	p := eq.NewBiquad(eq.MatchedPeak(48000, 1000, 6, 1))
	buf := make([]dsp.Frame, 512)
	dsp.NewPink(48000, 1).Fill(buf)
	for b.Loop() {
		p.Process(buf)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/512, "ns/frame")
}
