package player

import (
	"math"

	"strop/dsp"
)

// raisedCosine is the k-th of n steps of a fade-in, and read backwards of a
// fade-out:
//
//	½ − ½·cos(π·(k+½)/n)
func raisedCosine(k, n int) float64 {
	return 0.5 - 0.5*math.Cos(math.Pi*(float64(k)+0.5)/float64(n))
}

// rising is a whole fade-in of n frames.
func rising(n int) []float64 {
	window := make([]float64, n)
	for k := range window {
		window[k] = raisedCosine(k, n)
	}
	return window
}

func scale(f *dsp.Frame, ratio float64) {
	f[0] *= ratio
	f[1] *= ratio
}

// A gate lets sound through, opening and closing along a window. Told to turn
// round on the way, it goes back the way it came, without a step.
type gate struct {
	window  []float64 // the opening
	open    int       // 0 is shut, len(window) is open
	closing bool
}

func (g *gate) shut() bool { return g.open == 0 }

// process shapes buf. A closing gate must be given no more than open frames.
func (g *gate) process(buf []dsp.Frame) {
	open, window := g.open, g.window
	if g.closing {
		for i := range buf {
			open--
			scale(&buf[i], window[open])
		}
	} else {
		for i := range min(len(buf), len(window)-open) {
			scale(&buf[i], window[open])
			open++
		}
	}
	g.open = open
}

// fadeEnds fades a loop of n frames in at its start and out at its end, where
// buf is the part of it from frame pos on.
func fadeEnds(buf []dsp.Frame, window []float64, pos, n int) {
	for i := pos; i < min(len(window), pos+len(buf)); i++ {
		scale(&buf[i-pos], window[i])
	}
	for i := max(n-len(window), pos); i < pos+len(buf); i++ {
		scale(&buf[i-pos], window[n-1-i])
	}
}

// A swell is one fade-in of any length: sound that starts, starts quiet.
type swell struct{ done, n int }

func (s *swell) process(buf []dsp.Frame) {
	done, n := s.done, s.n
	for i := range min(len(buf), n-done) {
		scale(&buf[i], raisedCosine(done, n))
		done++
	}
	s.done = done
}

// A ramp is a gain that goes to its target in a straight line, slower up than
// down.
type ramp struct {
	ratio, target float64
	step          float64
	left          int // frames on the way
	up, down      int // frames for the whole way
}

func (r *ramp) aim(target float64) {
	if target == r.target {
		return
	}
	r.target, r.left = target, r.down
	if target > r.ratio {
		r.left = r.up
	}
	r.step = (target - r.ratio) / float64(r.left)
}

// jump reaches the target at once, for when nothing sounds.
func (r *ramp) jump() { r.ratio, r.left = r.target, 0 }

func (r *ramp) process(buf []dsp.Frame) {
	n := min(len(buf), r.left)
	ratio, step := r.ratio, r.step
	for i := range n {
		ratio += step
		scale(&buf[i], ratio)
	}
	r.ratio, r.left = ratio, r.left-n
	if r.left == 0 {
		r.ratio = r.target
	}
	if n < len(buf) && r.ratio != 1 {
		dsp.Gain(r.ratio).Process(buf[n:])
	}
}
