package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

// image is where a sound stands between the loudspeakers.
//
//	angleRad  direction in the plane of left and right: 0 left, π/4 centre,
//	          π/2 right; outside, the channels are of opposite polarity
//	spread    share of its power that stands elsewhere, 0 to 0.5; 0 for one point
type image struct{ angleRad, spread float64 }

// plane is the mean powers of left and right, and of their product.
type plane struct{ ll, rr, lr float64 }

// planeOf sums every other frame apart: two sums keep the adders busy.
func planeOf(frames []dsp.Frame) plane {
	var a, b plane
	n := float64(max(1, len(frames)))
	for ; len(frames) >= 2; frames = frames[2:] {
		x, y := frames[0], frames[1]
		a.ll += x[0] * x[0]
		a.rr += x[1] * x[1]
		a.lr += x[0] * x[1]
		b.ll += y[0] * y[0]
		b.rr += y[1] * y[1]
		b.lr += y[0] * y[1]
	}
	for _, x := range frames {
		a.ll += x[0] * x[0]
		a.rr += x[1] * x[1]
		a.lr += x[0] * x[1]
	}
	return plane{(a.ll + b.ll) / n, (a.rr + b.rr) / n, (a.lr + b.lr) / n}
}

// planeOfBoth is that of the sum of two sounds, the plane of the first being
// known.
func planeOfBoth(p plane, frames, other []dsp.Frame) plane {
	q := planeOf(other)
	var lr, rl, ll, rr float64
	other = other[:len(frames)]
	for i, f := range frames {
		g := other[i]
		ll += f[0] * g[0]
		rr += f[1] * g[1]
		lr += f[0] * g[1]
		rl += f[1] * g[0]
	}
	n := float64(max(1, len(frames)))
	return plane{p.ll + q.ll + 2*ll/n, p.rr + q.rr + 2*rr/n, p.lr + q.lr + (lr+rl)/n}
}

// image finds the axis that most of the power lies on, the first principal
// component of left and right. Source: common practice of statistics: the
// angle is atan2(2ΣLR, ΣL²−ΣR²)/2.
func (p plane) image() image {
	if p.ll+p.rr == 0 {
		return image{angleRad: math.Pi / 4}
	}
	return image{math.Atan2(2*p.lr, p.ll-p.rr) / 2, 0.5 - math.Hypot(p.ll-p.rr, 2*p.lr)/2/(p.ll+p.rr)}
}

func imageOf(frames []dsp.Frame) image { return planeOf(frames).image() }

// onePoint is the most spread of what is heard from one place. Common
// practice, no source.
const onePoint = 0.01

// pointOf is the direction of a sound that stands in one place, and why it
// cannot be told of others.
func pointOf(c drills.Clip, on int) (angleRad float64, err error) {
	frames, err := c.Target(on)
	if err != nil {
		return 0, err
	}
	at := imageOf(frames)
	if at.spread > onePoint || at.angleRad < -1e-6 || at.angleRad > math.Pi/2+1e-6 {
		return 0, errors.New(c.Where(on) + " is not heard from one place")
	}
	return at.angleRad, nil
}

// degOf is the direction in which loudspeakers at ±30° show an angle of the
// plane, by the tangent law; planeRad is its inverse.
func degOf(angleRad float64) float64 { return stereo.AngleDeg(math.Cos(angleRad), math.Sin(angleRad)) }

func planeRad(deg float64) float64 {
	return math.Pi/4 + math.Atan(math.Tan(deg*math.Pi/180)/math.Tan(math.Pi/6))
}

// turned turns the plane of left and right: every source moves by an angle and
// keeps its power. Turned by 0 it changes nothing, to the bit. No latency.
type turned struct{ cos, sin float64 }

var _ dsp.Processor = turned{}

// turnedBy moves sources to the right, by an angle of the plane.
func turnedBy(rad float64) turned { return turned{math.Cos(rad), math.Sin(rad)} }

// Process turns each frame.
func (t turned) Process(buf []dsp.Frame) {
	for i, f := range buf {
		buf[i] = dsp.Frame{t.cos*f[0] - t.sin*f[1], t.sin*f[0] + t.cos*f[1]}
	}
}

// Reset does nothing: there is no memory.
func (turned) Reset() {}

// wide is a sound with a width: a stereo stem, two microphones that are panned
// apart, or the mix.
type wide struct {
	stems []int // none: the mix
	name  string
	plane plane
}

// leastSpread is that of what has a width. Common practice, no source.
const leastSpread = 0.03

// wideOf is what of a loop is heard as wide around a stem, and why nothing is.
func wideOf(c drills.Clip, on int) (wide, error) {
	frames, err := c.Target(on)
	if err != nil {
		return wide{}, err
	}
	w := wide{name: c.Where(on), plane: planeOf(frames)}
	stem := c.Stem(on)
	if stem != nil {
		w.stems = []int{on}
	}
	if w.plane.image().spread < leastSpread && stem != nil && stem.Pair > 0 {
		other, err := c.Target(stem.Pair)
		if err != nil {
			return wide{}, err
		}
		w = wide{[]int{on, stem.Pair}, w.name + " with " + c.Where(stem.Pair), planeOfBoth(w.plane, frames, other)}
	}
	if w.plane.image().spread < leastSpread {
		return wide{}, errors.New(w.name + " has no width")
	}
	return w, nil
}

// insert puts a processor on all of it.
func (w wide) insert(p dsp.Processor) []drills.Insert {
	return []drills.Insert{{Stems: w.stems, Processor: p}}
}

// powers are the mean powers of a middle and a side, and of their product.
type powers struct{ mid, side, both float64 }

func (w wide) powers() powers {
	p := w.plane
	return powers{(p.ll + 2*p.lr + p.rr) / 4, (p.ll - 2*p.lr + p.rr) / 4, (p.ll - p.rr) / 4}
}

// errNoRoom is why a stem at the edge is not moved either way.
func errNoRoom(d drills.Draw) error {
	return errors.New(d.Where() + " stands too near to a loudspeaker to move either way")
}
