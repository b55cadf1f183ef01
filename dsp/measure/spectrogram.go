package measure

import (
	"math"

	"strop/dsp"
)

// Spectrogram is the levels of a sound by time and frequency, to be drawn.
//
// A level is the mean of the left and the right power through a Hann window, in
// dB of a full-scale sine on both channels; −Inf where there is nothing. A
// steady sine reads its level where a line lies on its frequency, up to 1.42 dB
// less between two, and 31 dB less two lines off or more; noise reads by how wide a line
// is, 1.5·RateHz/WindowFrames Hz.
//
//	WindowFrames  length of the window, a power of two
//	HopFrames     from one column to the next
//	Columns       one centred on frame 0, the last before the end
//	Lines         from 0 Hz to half the rate
//
// Source of the window's figures: F. J. Harris, On the use of windows for
// harmonic analysis with the discrete Fourier transform, Proc. IEEE 66 (1978),
// table 1 (from memory).
type Spectrogram struct {
	RateHz                                  float64
	WindowFrames, HopFrames, Columns, Lines int

	levelsDB []float32 // by column, then line
}

// SpectrogramOf is the spectrogram of a clip. The window is the shortest power
// of two, from 16 frames up, not shorter than windowS; the hop is hopS to the
// nearest frame, one at least. 0.04 and 0.01 s suit music. It panics at a rate
// outside dsp.MinRateHz to dsp.MaxRateHz.
func SpectrogramOf(buf []dsp.Frame, rateHz, windowS, hopS float64) *Spectrogram {
	checkRate(rateHz)
	n := 16
	for float64(n) < windowS*rateHz {
		n *= 2
	}
	hop := max(1, int(math.Round(hopS*rateHz)))
	s := &Spectrogram{RateHz: rateHz, WindowFrames: n, HopFrames: hop, Columns: (len(buf) + hop - 1) / hop, Lines: n/2 + 1}
	s.levelsDB = make([]float32, s.Columns*s.Lines)
	window := hann(n)
	fft := newStereoFFT(window)
	for i := range s.Columns {
		fft.transform(buf, i*hop)
		s.fill(s.Column(i), fft.yr, fft.yi)
	}
	return s
}

// fill writes the levels of a transform. The powers of bin k and of its mirror
// image together are 2(|L|² + |R|²). A sine of 1 has |L| = n/4, since the points
// of the window add up to n/2: on both channels that is n²/4.
func (s *Spectrogram) fill(column []float32, re, im []float64) {
	n := s.WindowFrames
	scale := 4 / (float64(n) * float64(n))
	for k := range column {
		mirror := (n - k) % n
		power := square(re[k], im[k]) + square(re[mirror], im[mirror])
		if k == 0 || k == n/2 {
			power /= 2 // a bin that is its own mirror image
		}
		column[k] = float32(dsp.PowerToDB(scale * power))
	}
}

// Column is the levels of all lines at TimeS(i).
func (s *Spectrogram) Column(i int) []float32 { return s.levelsDB[i*s.Lines : (i+1)*s.Lines] }

// TimeS is the middle of the i-th column, in seconds from the first frame.
func (s *Spectrogram) TimeS(i int) float64 { return float64(i*s.HopFrames) / s.RateHz }

// LineHz is the frequency of the k-th line.
func (s *Spectrogram) LineHz(k int) float64 { return float64(k) * s.RateHz / float64(s.WindowFrames) }
