package dsptest

import (
	"math"
	"math/cmplx"

	"strop/dsp"
)

const (
	responseTol = 1e-6
	responseMax = 1 << 23 // frames an impulse response may last
)

// matrix is a stated response from each channel to each, [to][from].
type matrix = func(rateHz, freqHz float64, s dsp.Setting) [2][2]complex128

// alike is the matrix of one response in both channels.
func alike(response func(rateHz, freqHz float64, s dsp.Setting) complex128) matrix {
	return func(rateHz, freqHz float64, s dsp.Setting) [2][2]complex128 {
		h := response(rateHz, freqHz, s)
		return [2][2]complex128{{h, 0}, {0, h}}
	}
}

// checkResponse sends an impulse of 1 into the left channel and of −1/2 into
// the right one, and transforms what comes out at a few frequencies: so a
// crossing or a difference of the channels shows as well.
func (c *contract) checkResponse(stated matrix) {
	c.t.Helper()
	freqs := c.frequencies()
	got, decayed := impulseTransform(c.build(), c.rateHz, freqs)
	if !decayed {
		c.errorf("the impulse response does not die away within %d frames", responseMax)
		return
	}
	for i, freqHz := range freqs {
		h := stated(c.rateHz, freqHz, c.set)
		for side, sent := range [2]complex128{1, -0.5} {
			measured, want := got[i][side]/sent, (h[side][0]-h[side][1]/2)/sent
			if d := cmplx.Abs(measured - want); !(d <= responseTol*max(1, cmplx.Abs(want))) {
				c.errorf("response at %.1f Hz, channel %d: measured %.7f, stated %.7f", freqHz, side, measured, want)
				return
			}
		}
	}
}

// checkPath expects the path that is stated, and that it colours nothing.
func (c *contract) checkPath() {
	c.t.Helper()
	for _, freqHz := range c.frequencies() {
		if gain := cmplx.Abs(c.spec.Path(c.rateHz, freqHz, c.set)); !(math.Abs(gain-1) <= 1e-12) {
			c.errorf("the path has a gain of %g at %.1f Hz; it must be 1", gain, freqHz)
			return
		}
	}
	c.checkResponse(alike(c.spec.Path))
}

// frequencies are eight from 20 Hz to 0.45 of the rate, and those of the
// setting itself.
func (c *contract) frequencies() (freqs []float64) {
	top := 0.45 * c.rateHz
	for i := range 8 {
		freqs = append(freqs, 20*math.Pow(top/20, float64(i)/7))
	}
	for _, p := range c.spec.Params {
		if v := c.set.Get(p); p.Unit == "Hz" && v > 0 && v < top {
			freqs = append(freqs, v)
		}
	}
	return freqs
}

// impulseTransform is the transform of p's impulse response from frame
// DelayFrames on, each channel for itself. It goes on until the response has
// stayed 240 dB under its peak for half a second.
func impulseTransform(p dsp.Processor, rateHz float64, freqs []float64) (sums [][2]complex128, decayed bool) {
	sums = make([][2]complex128, len(freqs))
	buf := make([]dsp.Frame, 4096)
	peak, quiet := 0.0, 0
	for at := 0; at < responseMax; at += len(buf) {
		clear(buf)
		if at == 0 {
			buf[0] = dsp.Frame{1, -0.5}
		}
		p.Process(buf)
		for i, freqHz := range freqs {
			addTransform(&sums[i], buf, at-dsp.DelayFrames(p), freqHz/rateHz)
		}
		most := 0.0
		for _, f := range buf {
			most = max(most, math.Abs(f[0]), math.Abs(f[1]))
		}
		peak = max(peak, most)
		quiet += len(buf)
		if most > 1e-12*peak {
			quiet = 0
		}
		if quiet > int(rateHz/2) {
			return sums, true
		}
	}
	return sums, false
}

// addTransform adds Σ buf[n]·e^(−2πi·cycles·(start+n)) to sum.
func addTransform(sum *[2]complex128, buf []dsp.Frame, start int, cycles float64) {
	_, turn := math.Modf(float64(start) * cycles)
	z, step := cmplx.Rect(1, -2*math.Pi*turn), cmplx.Rect(1, -2*math.Pi*cycles)
	var l, r complex128
	for _, f := range buf {
		re, im := real(z), imag(z)
		l += complex(f[0]*re, f[0]*im)
		r += complex(f[1]*re, f[1]*im)
		z *= step
	}
	sum[0] += l
	sum[1] += r
}
