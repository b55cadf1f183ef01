package dynamics

import "math"

// tiny keeps a memory that dies away above the smallest normal number, and is
// lost beside any reduction that can be heard.
const tiny = 1e-30

// keep is what is left of a difference after one frame of a time constant:
// e^(−1/(τ·rate)).
//
// Source: Giannoulis, Massberg & Reiss, JAES 60(6) (2012), eq. 7.
func keep(ms, rateHz float64) float64 { return math.Exp(-1000 / (ms * rateHz)) }

// A memory slows a release after a reduction that has lasted: the release
// falls to a part of a slow mean of the reduction first. A part of 0 is none.
type memory struct {
	part   float64 // of the mean that is kept
	charge float64 // of the difference that a frame adds to the mean
	mean   float64
}

// decoupled is the smooth decoupled peak detector, on reductions:
//
//	p = max(x, r·p + (1−r)·x);  y = a·y + (1−a)·p
//
// It reads a sine as its peak, where a branching detector would read less.
//
// Source: Giannoulis, Massberg & Reiss, JAES 60(6) (2012), eq. 17. Differs from
// it in: the memory; the release is set by decoupledRelease.
type decoupled struct {
	attack, release float64
	memory
	peak, y float64
}

func (s *decoupled) reset() { s.peak, s.y, s.mean = 0, 0, 0 }

// smooth replaces reductions by smoothed ones.
func (s *decoupled) smooth(x []float64) {
	if s.part > 0 {
		s.smoothProgramme(x)
		return
	}
	a, r, peak, y := s.attack, s.release, s.peak, s.y
	for i, in := range x {
		peak = r*peak + ((1-r)*in + tiny)
		if in > peak {
			peak = in
		}
		y = a*y + (1-a)*peak
		x[i] = y
	}
	s.peak, s.y = peak, y
}

// smoothProgramme is smooth with the memory, whose mean is one frame behind.
func (s *decoupled) smoothProgramme(x []float64) {
	a, r, c, peak, y, mean := s.attack, s.release, s.charge, s.peak, s.y, s.mean
	part := (1 - r) * s.part
	for i, in := range x {
		floor := greater((1-r)*in, part*mean)
		mean = (1-c)*mean + c*peak
		peak = greater(in, r*peak+(floor+tiny))
		y = a*y + (1-a)*peak
		x[i] = y
	}
	s.peak, s.y, s.mean = peak, y, mean
}

// decoupledRelease is the time constant of the peak stage with which a whole
// decoupled detector falls to 1/e in releaseMS, when its attack stage has
// attackMS. It is about releaseMS − attackMS; the exact root of
//
//	(τ·e^(−t/τ) − a·e^(−t/a))/(τ − a) = 1/e,  t = releaseMS, a = attackMS
//
// It exists for attackMS < releaseMS. The equation is the step response of the
// two stages in series.
func decoupledRelease(attackMS, releaseMS float64) float64 {
	lo, hi := 0.0, releaseMS
	for range 60 {
		mid := (lo + hi) / 2
		if left(mid, attackMS, releaseMS) < 1/math.E {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// left is what is left of a reduction at t, after two time constants in series.
func left(tau, a, t float64) float64 {
	if math.Abs(tau/a-1) < 1e-6 {
		return (1 + t/tau) * math.Exp(-t/tau)
	}
	return (tau*math.Exp(-t/tau) - a*math.Exp(-t/a)) / (tau - a)
}

// loop is a feedback detector. It sees levels out, which are levels in less
// the reduction of the frame before, and moves towards what they ask for:
//
//	t = curve(x − y);  y += k·(t − y),  k: attack if t > y, else release
//
// A closed loop is faster than it is open, above the knee by ratio. k gives that
// back, so that the times are what they are called.
type loop struct {
	outKnee
	attack, release float64
	memory
	y float64
}

func newLoop(rateHz, thresholdDB, kneeDB, ratio, attackMS, releaseMS float64, m memory) loop {
	return loop{
		outKnee: newOutKnee(thresholdDB, kneeDB, ratio),
		attack:  1 - keep(attackMS, rateHz),
		release: 1 - keep(releaseMS, rateHz),
		memory:  m,
	}
}

func (s *loop) reset() { s.y, s.mean = 0, 0 }

// smooth replaces levels in by smoothed reductions.
func (s *loop) smooth(x []float64) {
	y, mean := s.y, s.mean
	for i, in := range x {
		target, share := s.at(in - y)
		if target > y {
			y += share * s.attack * (target - y)
		} else {
			y += share * s.release * (greater(target, s.part*mean) + tiny - y)
		}
		mean += s.charge * (y - mean)
		x[i] = y
	}
	s.y, s.mean = y, mean
}

// falling is a smoother for what falls as the sound rises (the reduction of
// an expander, the gain of an upward compressor). Without a branch, for attack
// not slower than release:
//
//	y = min(y + attack·(x − y), y + release·(x − y))
type falling struct{ attack, release, y float64 }

func newFalling(rateHz, attackMS, releaseMS float64) falling {
	return falling{attack: 1 - keep(attackMS, rateHz), release: 1 - keep(releaseMS, rateHz)}
}

func (s *falling) reset() { s.y = 0 }

func (s *falling) smooth(x []float64) {
	a, r, y := s.attack, s.release, s.y
	for i, in := range x {
		fall, rise := (1-a)*y+(a*in+tiny), (1-r)*y+(r*in+tiny)
		if fall < rise {
			y = fall
		} else {
			y = rise
		}
		x[i] = y
	}
	s.y = y
}
