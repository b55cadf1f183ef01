package measure

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"

	"strop/dsp"
)

// Every level of a column against gonum's transform and window.
func TestSpectrogramAgainstGonum(t *testing.T) {
	const rateHz = 48000
	buf := musicLike(rateHz, 3, 2)
	s := SpectrogramOf(buf, rateHz, 0.04, 0.01)
	if s.WindowFrames != 2048 || s.HopFrames != 480 || s.Columns != 200 || s.Lines != 1025 {
		t.Fatalf("%d frames, a hop of %d, %d columns of %d lines", s.WindowFrames, s.HopFrames, s.Columns, s.Lines)
	}
	n := s.WindowFrames
	fft := fourier.NewFFT(n)
	for _, column := range []int{10, 77, 150} {
		var power [1025]float64
		for _, c := range []Channel{Left, Right} {
			x := c.Samples(buf[column*480-n/2:][:n+1])
			window.Hann(x) // symmetrical: of n+1 points it is the periodic one of n
			for k, z := range fft.Coefficients(nil, x[:n]) {
				power[k] += cmplx.Abs(z) * cmplx.Abs(z) / 2 / (float64(n) * float64(n) / 16)
			}
		}
		power[0] /= 2
		power[n/2] /= 2
		for k, p := range power {
			near(t, fmt.Sprintf("column %d, line %d", column, k), float64(s.Column(column)[k]), dsp.PowerToDB(p), 1e-3)
		}
	}
}

// A full-scale sine on a line reads 0 dB, one halfway to the next 1.42 dB less
// (Harris 1978, table 1); d lines off, the transform of the window gives
// sinc(d)/(1 − d²).
func TestSpectrogramOfSines(t *testing.T) {
	const rateHz, n = 48000.0, 2048
	for offset, want := range map[float64]map[int]float64{
		0:   {0: 0, 1: -6.0206, -1: -6.0206},
		0.5: {0: -1.42, 1: -1.42, 2: -15.4, 3: -32.305},
	} {
		buf := sine(rateHz, (200+offset)*rateHz/n, 0, 0.3, 1)
		s := SpectrogramOf(buf, rateHz, 0.04, 0.01)
		near(t, "frequency of line 200", s.LineHz(200), 4687.5, 0)
		for d, db := range want {
			near(t, fmt.Sprintf("%g lines above line 200, line %d", offset, 200+d), float64(s.Column(50)[200+d]), db, 0.05)
		}
	}
}

// White noise of standard deviation s reads s²·1.5·rate/n Hz of its spectrum,
// s²/(rate/2) a Hz, re the ½ of a sine.
func TestSpectrogramOfWhite(t *testing.T) {
	const rateHz = 48000.0
	buf := make([]dsp.Frame, 10*48000)
	dsp.NewWhite(5).Fill(buf)
	s := SpectrogramOf(buf, rateHz, 0.04, 0.05)
	power := 0.0
	for i := 2; i < s.Columns-2; i++ {
		for _, db := range s.Column(i)[1:1024] {
			power += math.Pow(10, float64(db)/10)
		}
	}
	power /= float64(s.Columns-4) * 1023
	near(t, "mean level", dsp.PowerToDB(power), dsp.PowerToDB(2*1.5*2/2048.0), 0.05)
}

// A click is in the columns about its time and in no other.
func TestSpectrogramSaysWhen(t *testing.T) {
	buf := make([]dsp.Frame, 48000)
	buf[24000] = dsp.Frame{1, 1}
	s := SpectrogramOf(buf, 48000, 0.02, 0.01)
	near(t, "time of column 50", s.TimeS(50), 0.5, 1e-12)
	for i := range s.Columns {
		heard := !math.IsInf(float64(s.Column(i)[100]), -1)
		if want := math.Abs(s.TimeS(i)-0.5) < 512.0/48000; heard != want {
			t.Errorf("column at %g s: heard is %t", s.TimeS(i), heard)
		}
	}
	if s := SpectrogramOf(nil, 48000, 0.02, 0.01); s.Columns != 0 {
		t.Errorf("nothing has %d columns", s.Columns)
	}
}

func BenchmarkSpectrogram(b *testing.B) {
	buf := musicLike(48000, 1, 8)
	for b.Loop() {
		SpectrogramOf(buf, 48000, 0.04, 0.01)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(buf)), "ns/frame")
}
