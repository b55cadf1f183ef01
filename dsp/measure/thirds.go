package measure

import (
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/fourier"
)

// ThirdOctaveMeter finds the mean power of a sound in third-octave bands.
//
// A level is the mean of the left and the right power, in dB of a full-scale
// sine on both channels, which reads 0 in its band. Every frame counts alike;
// what is below 17.8 Hz or above 22.4 kHz counts in no band.
//
// Windows of 1.3 to 2.7 s, half over each other and fading so that their
// powers add up to one, are transformed and their power added up by bins; a
// bin on the edge between two bands is shared in proportion. A steady sine in
// the middle of a band reads within 0.01 dB there, at most −40 dB in the next
// and −70 dB in the others; one that starts or ends abruptly also reads as the
// clicks that it then has. A meter takes about 6 MB at 48 kHz, and works in bursts, a window
// at a time: it is not for the audio path.
// Source: Welch, The use of fast Fourier transform for the estimation of
// power spectra, IEEE Trans. Audio Electroacoust. 15 (1967) (from memory);
// band edges IEC 61260-1:2014; window Vorbis I specification, Xiph.Org.
type ThirdOctaveMeter struct {
	rateHz float64
	fft    *fourier.Complex
	window []float64
	frames []dsp.Frame // the half before, then the half that is filling
	held   int         // frames in the second half
	count  int         // frames since Reset
	power  []float64   // by bin, 0 to half the rate, both channels
	xr, xi []float64   // work space
	yr, yi []float64
}

var _ dsp.Processor = (*ThirdOctaveMeter)(nil)

// NewThirdOctaveMeter is a meter for frames at rateHz. It panics at a rate
// outside dsp.MinRateHz to dsp.MaxRateHz.
func NewThirdOctaveMeter(rateHz float64) *ThirdOctaveMeter {
	checkRate(rateHz)
	n := 1
	for float64(n) < rateHz*4/3 {
		n *= 2
	}
	work := fourier.Apart(4, n)
	return &ThirdOctaveMeter{
		rateHz: rateHz,
		fft:    fourier.NewComplex(n),
		window: powerComplementary(n),
		frames: make([]dsp.Frame, n),
		power:  make([]float64, n/2+1),
		xr:     work[0], xi: work[1], yr: work[2], yi: work[3],
	}
}

// powerComplementary is a window whose square, and its square moved on by
// half its length, add up to 1: sin(π/2·sin²(π·(i+½)/n)).
func powerComplementary(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		s := math.Sin(math.Pi * (float64(i) + 0.5) / float64(n))
		w[i] = math.Sin(math.Pi / 2 * s * s)
	}
	return w
}

// Reset forgets everything.
func (m *ThirdOctaveMeter) Reset() {
	clear(m.frames)
	clear(m.power)
	m.held, m.count = 0, 0
}

// Process reads buf and leaves it as it is.
func (m *ThirdOctaveMeter) Process(buf []dsp.Frame) {
	half := len(m.frames) / 2
	m.count += len(buf)
	for len(buf) > 0 {
		n := copy(m.frames[half+m.held:], buf)
		m.held += n
		buf = buf[n:]
		if m.held == half {
			m.analyse()
			copy(m.frames, m.frames[half:])
			m.held = 0
		}
	}
}

// analyse adds the power of a window. Left and right are transformed at once,
// as the two parts of a complex signal: the powers of bin k and of its mirror
// image together are twice those of left and right.
func (m *ThirdOctaveMeter) analyse() {
	for i, w := range m.window {
		m.xr[i], m.xi[i] = w*m.frames[i][0], w*m.frames[i][1]
	}
	m.fft.Transform(m.yr, m.yi, m.xr, m.xi)
	n := len(m.window)
	m.power[0] += square(m.yr[0], m.yi[0])
	m.power[n/2] += square(m.yr[n/2], m.yi[n/2])
	for k := 1; k < n/2; k++ {
		m.power[k] += square(m.yr[k], m.yi[k]) + square(m.yr[n-k], m.yi[n-k])
	}
}

func square(re, im float64) float64 { return re*re + im*im }

// Result is the level of each band since Reset, -Inf where there is nothing:
// in silence, and above half the rate. More may follow.
func (m *ThirdOctaveMeter) Result() (levelsDB [dsp.ThirdOctaves]float64) {
	end := *m
	end.frames, end.power = slices.Clone(m.frames), slices.Clone(m.power)
	end.Process(make([]dsp.Frame, len(m.frames)))
	for i := range levelsDB {
		levelsDB[i] = dsp.PowerToDB(end.bandPower(dsp.ThirdOctaveEdges(i)) / float64(max(m.count, 1)))
	}
	return levelsDB
}

// bandPower is the power between two frequencies, summed over all frames.
func (m *ThirdOctaveMeter) bandPower(loHz, hiHz float64) float64 {
	n := len(m.window)
	bins := float64(n) / m.rateHz // per Hz
	lo, hi := loHz*bins, min(hiHz*bins, float64(n)/2)
	sum := 0.0
	for k := max(int(lo), 0); k <= n/2; k++ {
		share := min(float64(k)+0.5, hi) - max(float64(k)-0.5, lo)
		if share > 0 {
			sum += share * m.power[k]
		}
	}
	return sum / float64(n)
}

// ThirdOctavesDB is the level of a clip in each third-octave band, from 20 Hz
// to 20 kHz, in dB of a full-scale sine on both channels; -Inf where there is
// nothing.
func ThirdOctavesDB(buf []dsp.Frame, rateHz float64) [dsp.ThirdOctaves]float64 {
	m := NewThirdOctaveMeter(rateHz)
	m.Process(buf)
	return m.Result()
}

// TotalDB is the power of all bands together.
func TotalDB(levelsDB [dsp.ThirdOctaves]float64) float64 {
	sum := 0.0
	for _, db := range levelsDB {
		sum += math.Pow(10, db/10)
	}
	return dsp.PowerToDB(sum)
}
