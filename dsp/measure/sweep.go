package measure

import (
	"fmt"
	"math"
	"math/cmplx"

	"strop/dsp"
	"strop/dsp/fourier"
)

// Sweep is the test for a response: a sine of peak 1 whose frequency rises
// exponentially, at such a rate that each of its harmonics is the same sweep,
// only earlier:
//
//	x(t) = sin(2π·f1·L·e^(t/L)),  L = round(f1·T/ln(f2/f1))/f1
//	order n leads by L·ln n
//
// Convolved with the inverse of the sweep, what a processor adds of each order
// stands apart from the linear response, as a response of its own.
//
//	FromHz, ToHz  f1 and f2
//	LS            L, the time in which the frequency grows e-fold
//	LengthS       L·ln(f2/f1), the length that came of the one asked for
//
// It fades in over its first sixth of an octave and out over its last
// twenty-fourth. A second of silence belongs to it, for the processor to fall
// silent in. A sweep may be used by one goroutine at a time.
//
// Source: A. Novak, P. Lotton, L. Simon, Synchronized swept-sine: theory,
// application, and implementation, JAES 63(10) (2015); A. Farina, Simultaneous
// measurement of impulse response and distortion with a swept-sine technique,
// AES 108th Convention (2000).
type Sweep struct {
	RateHz, FromHz, ToHz, LS, LengthS float64

	fft     *fourier.FFT
	inverse []complex128 // by bin
	wire    impulse      // linear response of nothing at all
}

// Orders is the highest order of harmonics that a Response tells, the
// fundamental being the first.
const Orders = 5

const (
	sweepTailS    = 1.0
	fadeInOct     = 1.0 / 6
	fadeOutOct    = 1.0 / 24
	shortestRoomS = 0.01
)

// NewSweep is a sweep of about seconds. The error says what is wrong with a
// range that does not lie from 1 Hz to half of rateHz, or with a sweep so
// short that the orders do not stand apart.
func NewSweep(rateHz, fromHz, toHz, seconds float64) (*Sweep, error) {
	if err := rateError(rateHz); err != nil {
		return nil, err
	}
	if !(fromHz >= 1 && fromHz < toHz && toHz <= rateHz/2) {
		return nil, fmt.Errorf("a sweep from %g to %g Hz cannot be made at a sample rate of %g Hz; rise from 1 Hz or more to half the rate or less", fromHz, toHz, rateHz)
	}
	logRange := math.Log(toHz / fromHz)
	s := &Sweep{RateHz: rateHz, FromHz: fromHz, ToHz: toHz, LS: math.Round(fromHz*seconds/logRange) / fromHz}
	s.LengthS = s.LS * logRange
	if !(s.roomS(Orders) >= shortestRoomS) {
		return nil, fmt.Errorf("a sweep of %g s over that range is too short to tell harmonics apart; take %.1f s", seconds, 0.12*logRange+1/fromHz)
	}
	sent := Left.Samples(s.Frames())
	s.fft = planFor(len(sent))
	s.inverse = s.inverseSpectrum()
	s.wire = s.cut(s.deconvolve(sent), 1)
	return s, nil
}

// LeadS is how long before the linear response that of an order arrives.
func (s *Sweep) LeadS(order int) float64 { return s.LS * math.Log(float64(order)) }

// roomS is the time before the arrival of an order that is counted to it: half
// of what lies between it and the next.
func (s *Sweep) roomS(order int) float64 { return (s.LeadS(order+1) - s.LeadS(order)) / 2 }

// Frames is the sweep, on both channels, and the silence after it.
func (s *Sweep) Frames() []dsp.Frame {
	buf := make([]dsp.Frame, int((s.LengthS+sweepTailS)*s.RateHz))
	in, out := s.LS*math.Ln2*fadeInOct, s.LS*math.Ln2*fadeOutOct
	for i := range buf {
		t := float64(i) / s.RateHz
		if t >= s.LengthS {
			break
		}
		y := math.Sin(2*math.Pi*s.FromHz*s.LS*math.Exp(t/s.LS)) * raised(t/in) * raised((s.LengthS-t)/out)
		buf[i] = dsp.Frame{y, y}
	}
	return buf
}

// raised is half of a raised cosine: 0 to 1 as x goes from 0 to 1, 1 beyond.
func raised(x float64) float64 { return 0.5 - 0.5*math.Cos(math.Pi*min(max(x, 0), 1)) }

// inverseSpectrum is 2·√(f/L)·e^(−2πi·f·L·(1 − ln(f/f1)) + iπ/4), over the rate.
func (s *Sweep) inverseSpectrum() []complex128 {
	z := make([]complex128, s.fft.Len()/2+1)
	for k := 1; k < len(z); k++ {
		f := float64(k) * s.RateHz / float64(s.fft.Len())
		turns := math.Mod(f*s.LS*(1-math.Log(f/s.FromHz)), 1)
		z[k] = cmplx.Rect(2*math.Sqrt(f/s.LS)/s.RateHz, math.Pi/4-2*math.Pi*turns)
	}
	return z
}

// deconvolve is the impulse responses of all orders: the linear one from frame
// 0 on, the others before it, which is the end.
func (s *Sweep) deconvolve(recorded []float64) []float64 {
	z := spectrumOf(s.fft, recorded)
	for k := range z {
		z[k] *= s.inverse[k]
	}
	return samplesOf(s.fft, z)
}

// An impulse is an impulse response with its time 0 at frame origin, which
// may lie between two.
type impulse struct {
	samples []float64
	origin  float64
}

// cut is the response of one order, its ends faded.
func (s *Sweep) cut(all []float64, order int) impulse {
	room := s.roomS(order) * s.RateHz
	arrival := -s.LeadS(order) * s.RateHz
	end := sweepTailS * s.RateHz
	if order > 1 {
		end = -(s.LeadS(order-1) + s.roomS(order-1)) * s.RateHz
	}
	start := int(math.Ceil(arrival - room))
	h := impulse{make([]float64, int(end)-start), arrival - float64(start)}
	for i := range h.samples {
		at := (start + i + len(all)) % len(all)
		h.samples[i] = all[at] * raised(2*float64(i)/room) * raised(2*float64(len(h.samples)-1-i)/room)
	}
	return h
}

// at is the transform of the impulse at one frequency, and its group delay in
// frames.
func (h impulse) at(cycles float64) (response complex128, delay float64) {
	sum, moment := transformAt(h.samples, cycles, h.origin)
	return sum, real(moment / sum)
}

// Response is what a processor did to a sweep: its linear response and, apart
// from it, the harmonics that it added.
type Response struct {
	sweep  *Sweep
	ratio  float64
	orders [Orders]impulse
}

// Response is that of whatever made recorded, one channel of what came back,
// from the sweep times ratio. Latency should have been taken out of it, or it
// counts as phase; a latency of more than a few milliseconds must be (Align
// finds it). Frames that are missing count as silence, those that are too many
// are left out.
func (s *Sweep) Response(recorded []float64, ratio float64) *Response {
	all := s.deconvolve(recorded[:min(len(recorded), int((s.LengthS+sweepTailS)*s.RateHz))])
	r := &Response{sweep: s, ratio: ratio}
	for i := range r.orders {
		r.orders[i] = s.cut(all, i+1)
	}
	return r
}

// Measure sends the sweep times ratio through p, on both channels, and gives
// the response of each. The latency that p states is taken out. p is reset
// before and after.
func (s *Sweep) Measure(p dsp.Processor, ratio float64) (left, right *Response) {
	p.Reset()
	defer p.Reset()
	sent, late := s.Frames(), dsp.DelayFrames(p)
	dsp.Gain(ratio).Process(sent)
	buf := make([]dsp.Frame, len(sent)+late)
	copy(buf, sent)
	p.Process(buf)
	return s.Response(Left.Samples(buf[late:]), ratio), s.Response(Right.Samples(buf[late:]), ratio)
}

// At is the linear response at a frequency of the sweep, NaN outside of it.
// What the sweep itself lacks of a flat spectrum is divided out, so that
// nothing at all reads 1 exactly; a filter reads within 0.02 dB from an octave
// and a half above the start of the sweep, 0.15 dB below. A processor that is
// not linear reads what it gives back at the frequency that was sent.
func (r *Response) At(freqHz float64) complex128 {
	if !(freqHz >= r.sweep.FromHz && freqHz <= r.sweep.ToHz) {
		return cmplx.NaN()
	}
	h, _ := r.orders[0].at(freqHz / r.sweep.RateHz)
	wire, _ := r.sweep.wire.at(freqHz / r.sweep.RateHz)
	return h / wire / complex(r.ratio, 0)
}

// GainDB is the magnitude of At in dB.
func (r *Response) GainDB(freqHz float64) float64 { return dsp.ToDB(cmplx.Abs(r.At(freqHz))) }

// PhaseRad is the angle of At, −π to π.
func (r *Response) PhaseRad(freqHz float64) float64 { return cmplx.Phase(r.At(freqHz)) }

// GroupDelayS is −dφ/dω: by how much the envelope of a tone comes later.
func (r *Response) GroupDelayS(freqHz float64) float64 {
	if !(freqHz >= r.sweep.FromHz && freqHz <= r.sweep.ToHz) {
		return math.NaN()
	}
	_, delay := r.orders[0].at(freqHz / r.sweep.RateHz)
	_, wire := r.sweep.wire.at(freqHz / r.sweep.RateHz)
	return (delay - wire) / r.sweep.RateHz
}

// Harmonic is how large the harmonic of an order, 1 to Orders, comes out while
// the sweep is at freqHz, re what was sent, and its angle re a sine of order
// times the phase that was sent. The first order is At; the others are good to
// 0.5 % from an octave and a half above the start of the sweep, 3 % below. NaN
// outside the sweep, where it fades, and where the harmonic would lie above
// half the rate. A harmonic that lies there also folds back, if the processor
// lets it, and spoils the others: keep ToHz times the highest order that
// matters below half the rate.
func (r *Response) Harmonic(order int, freqHz float64) complex128 {
	s := r.sweep
	lo, hi := s.FromHz*math.Exp2(fadeInOct), s.ToHz*math.Exp2(-fadeOutOct)
	if !(freqHz >= lo && freqHz <= hi && float64(order)*freqHz < s.RateHz/2) {
		return cmplx.NaN()
	}
	if order == 1 {
		return r.At(freqHz)
	}
	h, _ := r.orders[order-1].at(float64(order) * freqHz / s.RateHz)
	return h / complex(r.ratio, 0)
}
