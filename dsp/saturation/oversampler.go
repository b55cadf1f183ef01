package saturation

import (
	"math"

	"strop/dsp"
	"strop/dsp/kaiser"
	"strop/dsp/taps"
)

// oversampler runs a curve at four times the rate: two doublings, the curve, a
// thinning that also makes up for the curve's averaging, a halving. All four
// are symmetric, so the whole is a delay of whole frames.
type oversampler struct {
	first, second doubler
	thinner       thinner
	halver        halver
	delay         int // frames at the lower rate

	double [2 * chunk]dsp.Frame
	quad   [4 * chunk]dsp.Frame
}

const (
	attenuationDB = 90              // of images, and of what would fold below passHz
	passHz        = 20000           // passes flat up to here
	passCycles    = 20000.0 / 44100 // or up to here, in cycles per frame, where that is lower
)

func newOversampler(rateHz float64) oversampler {
	pass := min(passHz/rateHz, passCycles)
	outer, inner := halfBand(pass), halfBand(pass/2)
	down := flatLowPass(pass/4, len(inner))
	return oversampler{
		first:   doubler{line: newLine(2*len(outer)-1, chunk), taps: outer},
		second:  doubler{line: newLine(2*len(inner)-1, 2*chunk), taps: inner},
		thinner: thinner{newLine(2*len(down)-2, 4*chunk), down},
		halver:  newHalver(outer),
		delay:   2*len(outer) - 1 + (len(inner)+(len(down)-1)/2)/2,
	}
}

func (o *oversampler) reset() {
	o.first.reset()
	o.second.reset()
	o.thinner.reset()
	o.halver.reset()
}

// run replaces buf by what c adds to it, delay frames late.
func (o *oversampler) run(buf []dsp.Frame, c curve) {
	double, quad := o.double[:2*len(buf)], o.quad[:4*len(buf)]
	o.first.process(double, buf)
	o.second.process(quad, double)
	c.bend(quad)
	o.thinner.process(double, quad)
	o.halver.process(buf, double)
}

// doubler puts a frame halfway between every two. The frames themselves pass
// as they are, len(taps) frames late.
type doubler struct {
	line
	taps []float64 // of the nearest pair of frames first
	half [2 * chunk]dsp.Frame
}

func (d *doubler) process(dst, src []dsp.Frame) {
	frames := d.enter(src)
	half := d.half[:len(src)]
	taps.Mirror(half, d.taps, frames, 1)
	for i, x := range frames[len(d.taps)-1:][:len(src)] {
		dst[2*i], dst[2*i+1] = x, half[i]
	}
	d.leave(len(src))
}

// halver undoes a doubling: what lies above the new half of the rate is kept
// back. len(taps)−1 frames late.
type halver struct {
	even, odd line
	taps      []float64
	split     [chunk]dsp.Frame
}

func newHalver(taps []float64) halver {
	return halver{even: newLine(len(taps)-1, chunk), odd: newLine(2*len(taps)-1, chunk), taps: taps}
}

func (h *halver) reset() {
	h.even.reset()
	h.odd.reset()
}

func (h *halver) process(dst, src []dsp.Frame) {
	split := h.split[:len(dst)]
	for i := range split {
		split[i] = src[2*i]
	}
	even := h.even.enter(split)
	for i := range split {
		split[i] = src[2*i+1]
	}
	odd := h.odd.enter(split)
	taps.Mirror(dst, h.taps, odd, 1)
	for i := range dst {
		dst[i] = dsp.Frame{(even[i][0] + dst[i][0]) / 2, (even[i][1] + dst[i][1]) / 2}
	}
	h.even.leave(len(dst))
	h.odd.leave(len(dst))
}

// thinner keeps every other frame, moved by half a step to lie between two.
// The number of taps is odd; it is (len(taps)−1)/2 frames of the lower rate
// late.
type thinner struct {
	line
	taps []float64
}

func (t *thinner) process(dst, src []dsp.Frame) {
	frames := t.enter(src)
	taps.Mirror(dst, t.taps, frames, 2)
	t.leave(len(src))
}

// halfBand is the taps of a doubler for what lies below pass, in cycles per
// frame. Images are attenuationDB down.
func halfBand(pass float64) []float64 {
	length := kaiser.Length((1-2*pass)/2, attenuationDB)
	taps := make([]float64, int(math.Ceil((length+1)/4)))
	for j := range taps {
		d := float64(j) + 0.5
		taps[j] = math.Sin(math.Pi*d) / (math.Pi * d) * kaiser.Window(d/float64(len(taps)), kaiser.Beta(attenuationDB))
	}
	return scaledToHalf(taps)
}

// flatLowPass is the taps of a thinner for what lies below pass, in cycles per
// frame of its input, with the inverse of the averaging of a curve, cos πf.
// Their number is odd, and such that it and up frames of the lower rate make
// an even number of them.
func flatLowPass(pass float64, up int) []float64 {
	n := int(math.Ceil(kaiser.Length(0.5-2*pass, attenuationDB) / 2))
	for n%2 == 0 || (up+(n+1)/2)%2 != 0 { // two more taps come below
		n++
	}
	taps := make([]float64, n)
	for j := range taps {
		d := float64(j) + 0.5
		taps[j] = math.Sin(math.Pi/2*d) / (math.Pi * d) * kaiser.Window(d/float64(n), kaiser.Beta(attenuationDB))
	}
	return scaledToHalf(convolved(taps, inverseOfAveraging(pass)))
}

// inverseOfAveraging is the taps, the middle one first, of a filter of 5 that
// is 1/cos πf up to pass to 1e-4: a parabola in z = cos² πf, which is the
// taps 1/4, 1/2, 1/4, through z^(−1/2) at the three Chebyshev nodes.
func inverseOfAveraging(pass float64) [3]float64 {
	least := math.Pow(math.Cos(math.Pi*pass), 2)
	var z, y [3]float64
	for i := range z {
		z[i] = (1+least)/2 + (1-least)/2*math.Cos(math.Pi*(float64(i)+0.5)/3)
		y[i] = 1 / math.Sqrt(z[i])
	}
	first, second := (y[1]-y[0])/(z[1]-z[0]), (y[2]-y[1])/(z[2]-z[1])
	c2 := (second - first) / (z[2] - z[0])
	c1 := first - c2*(z[0]+z[1])
	c0 := y[0] - c1*z[0] - c2*z[0]*z[0]
	return [3]float64{c0 + c1/2 + c2*3/8, c1/4 + c2/4, c2 / 16}
}

// convolved is an even number of symmetric taps, given as one half, after five
// symmetric ones.
func convolved(half []float64, five [3]float64) []float64 {
	at := func(d int) float64 { // d counts from the right middle tap
		d = max(d, -1-d)
		if d >= len(half) {
			return 0
		}
		return half[d]
	}
	out := make([]float64, len(half)+2)
	for j := range out {
		out[j] = five[0]*at(j) + five[1]*(at(j-1)+at(j+1)) + five[2]*(at(j-2)+at(j+2))
	}
	return out
}

// scaledToHalf makes the taps of one side sum to 1/2, so that a constant
// passes unchanged.
func scaledToHalf(taps []float64) []float64 {
	sum := 0.0
	for _, tap := range taps {
		sum += tap
	}
	for j := range taps {
		taps[j] *= 0.5 / sum
	}
	return taps
}
