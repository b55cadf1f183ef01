// Package saturation holds the processors that bend the waveform: harmonics,
// quantisation and images are what they are for.
package saturation

import "strop/dsp"

// What the waveshapers have in common.
var (
	driveDB = dsp.Param{ID: "driveDB", Name: "drive", Unit: "dB", Min: -60, Max: 40, Neutral: -60}
	mixPct  = dsp.Param{ID: "mixPct", Name: "mix", Unit: "%", Min: 0, Max: 100, Neutral: 100}
)

// A curve is a memoryless function f of slope 1 at 0, by what it adds to its
// input u: f(u) − u.
type curve interface {
	// bend replaces each frame of buf by the mean of f(u) − u over the straight
	// line from the frame before it: antiderivative anti-aliasing of first
	// order. What comes out lies half a step before its frame.
	bend(buf []dsp.Frame)
	reset()
}

// waveshaper puts a curve f to work at four times the rate:
//
//	y = x + mix·(f(drive·x)/drive − x)
//
// x passes as it is, only delayed; the resamplers carry the difference alone.
// So with no drive, or no mix, nothing changes, to the bit, and what is too
// quiet to be bent keeps its highest treble. Quiet sound keeps its level, loud
// sound loses some: there is no make-up gain.
//
// Flat to 20 kHz (at rates under 44.1 kHz to 0.4535 of the rate) within 0.002
// dB: the droop of the averaging is made up for. It is the droop of a straight
// line, so a tone of 20 kHz that is bent hard comes out up to 0.38 dB too loud
// at 44.1 kHz. What the curve makes above half the rate may come back between
// 20 kHz and half the rate; below, the resamplers keep it 90 dB down.
//
// Source: J. D. Parker, V. Zavalishin, E. Le Bivic, Reducing the aliasing of
// nonlinear waveshaping using continuous-time convolution, DAFx-16 (2016),
// equation for first order. The difference form, and making up for the droop,
// are our own arrangement.
type waveshaper struct {
	curve      curve
	drive, mix float64
	before     *section // on the way to the curve
	after      *section // on what the curve adds
	wet        *section // on x and what the curve adds

	dry   line
	over  oversampler
	input [chunk]dsp.Frame
}

// chunk is how many frames are resampled at a time.
const chunk = 64

var (
	_ dsp.Processor = (*waveshaper)(nil)
	_ dsp.Delayer   = (*waveshaper)(nil)
	_ dsp.Settler   = (*waveshaper)(nil)
)

// newWaveshaper is c at the drive and mix of s. The least drive is none.
func newWaveshaper(rateHz float64, s dsp.Setting, c curve) *waveshaper {
	w := &waveshaper{
		curve: c,
		drive: dsp.FromDB(s.Get(driveDB)),
		mix:   s.Get(mixPct) / 100,
		over:  newOversampler(rateHz),
	}
	if s.Get(driveDB) == driveDB.Min {
		w.mix = 0
	}
	w.dry = newLine(w.over.delay, chunk)
	return w
}

// DelayFrames is the delay of the resamplers, the same at every setting.
func (w *waveshaper) DelayFrames() int { return w.over.delay }

// SettleFrames is twice the delay, the length of the resamplers, and what the
// filters around the curve remember.
func (w *waveshaper) SettleFrames() int {
	return 2*w.over.delay + 2 + w.before.settle() + w.after.settle() + w.wet.settle()
}

// Reset forgets what it heard.
func (w *waveshaper) Reset() {
	w.curve.reset()
	w.dry.reset()
	w.over.reset()
	w.before.reset()
	w.after.reset()
	w.wet.reset()
}

// Process bends buf in place.
func (w *waveshaper) Process(buf []dsp.Frame) {
	for len(buf) > 0 {
		n := min(len(buf), chunk)
		w.some(buf[:n])
		buf = buf[n:]
	}
}

// some is Process for up to chunk frames.
func (w *waveshaper) some(buf []dsp.Frame) {
	d := w.input[:len(buf)]
	for i, x := range buf {
		d[i] = dsp.Frame{x[0] * w.drive, x[1] * w.drive}
	}
	w.before.process(d)
	w.over.run(d, w.curve)
	w.after.process(d)
	dry := w.dry.enter(buf)[:len(buf)]
	if w.wet != nil {
		w.replaceWet(d, dry)
	}
	ratio := w.mix / w.drive
	for i, x := range dry {
		buf[i] = dsp.Frame{x[0] + ratio*d[i][0], x[1] + ratio*d[i][1]}
	}
	w.dry.leave(len(buf))
}

// replaceWet filters what the curve gives, dry and difference together, and
// makes of it a difference again.
func (w *waveshaper) replaceWet(d, dry []dsp.Frame) {
	for i, x := range dry {
		d[i][0] += w.drive * x[0]
		d[i][1] += w.drive * x[1]
	}
	w.wet.process(d)
	for i, x := range dry {
		d[i][0] -= w.drive * x[0]
		d[i][1] -= w.drive * x[1]
	}
}
