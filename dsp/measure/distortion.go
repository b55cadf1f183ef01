package measure

import (
	"math"

	"strop/dsp"
)

// Harmonics are the amplitudes of a tone and of its harmonics in what came
// back: U[0] the fundamental, U[1] the second harmonic and so on, as ratios of
// peak to full scale.
type Harmonics struct{ U []float64 }

// HarmonicsOf measures the fundamental at freqHz and every harmonic up to
// 20 kHz or just below half the rate. x is a steady tone, at least 20 periods
// of it, with what is not steady cut off; other sounds count where they are less
// than 6/T Hz from a harmonic, T the length of x.
//
// Each is read through a Kaiser window whose side lobes are about 150 dB down,
// so that x need hold no whole number of periods.
func HarmonicsOf(x []float64, rateHz, freqHz float64) (h Harmonics) {
	w := windowed(x)
	for n := 1.0; n*freqHz <= min(bandHighHz, 0.49*rateHz); n++ {
		h.U = append(h.U, toneRatio(w, n*freqHz/rateHz))
	}
	return h
}

func windowed(x []float64) []float64 {
	w := kaiserPoints(len(x))
	for i := range w {
		w[i] *= x[i]
	}
	return w
}

// THDF is the total harmonic distortion re the fundamental: √(ΣU²[n≥2])/U1, a
// ratio. NaN without a tone.
func (h Harmonics) THDF() float64 { return h.above() / h.fundamental() }

// THDR is the total harmonic distortion re all: √(ΣU²[n≥2])/√(ΣU²[n≥1]), a
// ratio, never above 1.
func (h Harmonics) THDR() float64 { return h.above() / math.Hypot(h.above(), h.fundamental()) }

func (h Harmonics) fundamental() float64 {
	if len(h.U) == 0 {
		return math.NaN()
	}
	return h.U[0]
}

func (h Harmonics) above() float64 {
	if len(h.U) == 0 {
		return math.NaN()
	}
	return math.Sqrt(sumSquares(h.U[1:]))
}

// The band in which distortion and noise are measured. Source: AES17-2015 (as
// quoted).
const (
	bandLowHz  = 20
	bandHighHz = 20000
	notchQ     = 2 // AES17: 1.2 to 3
)

// THDN is all that comes back with a tone but the tone itself, re all with it:
// what a notch at freqHz lets through over what comes without it, both from
// 20 Hz to 20 kHz or half the rate; a ratio.
//
// The notch has a Q of 2: it also takes 3 dB at 0.78 and 1.28 times freqHz, and
// 0.5 dB at the second harmonic, which the definition accepts. x is a steady
// tone; its first 16/freqHz seconds let the notch settle and do not count, and
// a window of Kaiser weights the rest. NaN if nothing is left.
//
// Source: AES17-2015, 5.2.5, 5.2.8 and 6.3.1 (as quoted); the notch:
// R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note (2021).
func THDN(x []float64, rateHz, freqHz float64) float64 {
	settled := int(16 / freqHz * rateHz)
	if len(x)-settled < 8 {
		return math.NaN()
	}
	rest := notched(x, rateHz, freqHz)
	return math.Sqrt(bandPower(rest[settled:], rateHz) / bandPower(x[settled:], rateHz))
}

// notched is x through H = (1 − 2cos ω0/z + 1/z²)/(1+α)/(1 − …), α = sin ω0/2Q.
func notched(x []float64, rateHz, freqHz float64) []float64 {
	sin, cos := math.Sincos(2 * math.Pi * freqHz / rateHz)
	alpha := sin / (2 * notchQ)
	b, a2 := 1/(1+alpha), (1-alpha)/(1+alpha)
	y := make([]float64, len(x))
	var x1, x2, y1, y2 float64
	for i, in := range x {
		y[i] = b*(in-2*cos*x1+x2) + 2*cos*b*y1 - a2*y2
		x2, x1, y2, y1 = x1, in, y1, y[i]
	}
	return y
}

// bandPower is the power of x in the band, up to a factor that all x of one
// length share.
func bandPower(x []float64, rateHz float64) (sum float64) {
	fft := planFor(len(x))
	z := spectrumOf(fft, windowed(x))
	hz := rateHz / float64(fft.Len())
	for k := int(math.Ceil(bandLowHz / hz)); k < len(z) && float64(k)*hz <= bandHighHz; k++ {
		sum += square(real(z[k]), imag(z[k]))
	}
	return sum
}

// Intermodulation is what two tones make of each other: ratios of the products
// of second and third order to a reference.
type Intermodulation struct{ D2, D3 float64 }

// ModulationDistortion is that of a low tone on a high one, usually 60 Hz (or
// 250 Hz) four times as large as 7 kHz (8 kHz):
//
//	d2 = (U(high − low) + U(high + low))/U(high)
//	d3 = (U(high − 2·low) + U(high + 2·low))/U(high)
//
// The sums are arithmetic. x is both tones, steady, at least 20 periods of the
// low one. Source: IEC 60268-3, 14.12.7 (as quoted).
func ModulationDistortion(x []float64, rateHz, lowHz, highHz float64) Intermodulation {
	w := windowed(x)
	u := func(freqHz float64) float64 { return toneRatio(w, freqHz/rateHz) }
	high := u(highHz)
	return Intermodulation{
		D2: (u(highHz-lowHz) + u(highHz+lowHz)) / high,
		D3: (u(highHz-2*lowHz) + u(highHz+2*lowHz)) / high,
	}
}

// DifferenceFrequencyDistortion is that of two tones of one size close
// together, such as 13 and 14 kHz:
//
//	d2 = U(f2 − f1)/(U(f1) + U(f2))
//	d3 = (U(2·f1 − f2) + U(2·f2 − f1))/(U(f1) + U(f2))
//
// x is both tones, steady, at least 20 periods of their difference.
// Source: IEC 60268-3, 14.12.8 (as quoted).
func DifferenceFrequencyDistortion(x []float64, rateHz, f1Hz, f2Hz float64) Intermodulation {
	w := windowed(x)
	u := func(freqHz float64) float64 { return toneRatio(w, freqHz/rateHz) }
	both := u(f1Hz) + u(f2Hz)
	return Intermodulation{
		D2: u(f2Hz-f1Hz) / both,
		D3: (u(2*f1Hz-f2Hz) + u(2*f2Hz-f1Hz)) / both,
	}
}

// ToneThrough is what p makes of a steady tone of a peak ratio on both
// channels: seconds of the left one, after as long again in which p settles. p
// is reset before and after.
func ToneThrough(p dsp.Processor, rateHz, freqHz, ratio, seconds float64) []float64 {
	p.Reset()
	defer p.Reset()
	n := int(seconds * rateHz)
	buf := make([]dsp.Frame, 2*n)
	fillTone(buf, rateHz, freqHz, ratio, 0)
	p.Process(buf)
	return Left.Samples(buf[n:])
}
