package pitch

import (
	"math"

	"strop/dsp"
)

// A splicer sounds a stream faster or more slowly than it passes: it reads on
// at one speed while the time it should be at goes at another, and jumps, with
// a cross-fade, when it is too far away. It jumps where the sound is alike, and
// would rather do so in a pause than over a stroke, so that a stroke is neither
// left out nor heard twice.
//
// Source: W. Verhelst, M. Roelands, An overlap-add technique based on waveform
// similarity (WSOLA) for high quality time-scale modification of speech, ICASSP
// (1993); the price of what is jumped over: common practice, no source.
type splicer struct {
	kernel      *kernel
	read, pass  float64   // frames of the stream for each that comes out: as sounded, as time goes
	reach, fade int       // frames it may be away from its time; length of a cross-fade
	part        int       // frames that are sounded at a time
	place, old  float64   // where it reads; where it reads that is fading
	fading      int       // frames of the fade that are left
	sums        []float64 // running sums of power
	gains       fadeGains
	fresh       []dsp.Frame // part frames from place on
	going       []dsp.Frame // and from old on
}

// spliceReachS is how far from its time a stroke may be heard, in seconds.
const spliceReachS = 0.003

// newSplicer sounds part frames at a time. Its fades are as long, or shorter
// where it has to splice often.
func newSplicer(rateHz float64, k *kernel, read, pass float64, part int) *splicer {
	reach, fade := int(spliceReachS*rateHz*min(1, pass)), int(float64(part)*min(1, 0.25/math.Abs(read-pass)))
	return &splicer{kernel: k, read: read, pass: pass, part: part, reach: reach, fade: fade, sums: make([]float64, 4*reach+int(float64(fade)*read)+1), fresh: make([]dsp.Frame, part), going: make([]dsp.Frame, part)}
}

// margin is how far it reads to either side of its time.
func (s *splicer) margin() int {
	drift := float64(s.part+s.fade) * math.Abs(s.read-s.pass)
	return 2*s.reach + int(drift) + int(float64(2*s.fade)*max(1, s.read)) + s.kernel.half + 2
}

func (s *splicer) reset(place float64) {
	s.place, s.old, s.fading = place, place, 0
}

// sound adds frames to out, the first of which should be what the stream is at
// time. It decides at the first frame of out, of part frames, whether to
// jump.
func (s *splicer) sound(x *history, time float64, out []dsp.Frame) {
	s.jump(x, time, len(out))
	if s.fading == 0 && s.silent(x, len(out)) {
		s.place += s.read * float64(len(out))
		return
	}
	fresh, old := s.fresh[:len(out)], s.going[:min(s.fading, len(out))]
	x.run(fresh, s.kernel, s.place, s.read)
	x.run(old, s.kernel, s.old, s.read)
	for i, z := range old {
		in, away := s.gains.at(float64(s.fading-i) / float64(s.fade))
		fresh[i] = dsp.Frame{in*fresh[i][0] + away*z[0], in*fresh[i][1] + away*z[1]}
	}
	s.place += s.read * float64(len(out))
	s.old += s.read * float64(len(old))
	s.fading -= len(old)
	together(out, fresh)
}

// silent reports whether the next n frames are made of nothing.
func (s *splicer) silent(x *history, n int) bool {
	half := s.kernel.half
	frames := x.from(floor(s.place) - half)
	for _, f := range frames[:min(int(s.read*float64(n))+2*half+2, len(frames))] {
		if f != (dsp.Frame{}) {
			return false
		}
	}
	return true
}

// jump begins a splice where one is due within the next n frames: in a pause
// from half the reach on; anywhere from the whole of it, unless a stroke would
// suffer, for which it may stay half as much again.
func (s *splicer) jump(x *history, time float64, n int) {
	away := s.place - time
	then := math.Abs(away + float64(n)*(s.read-s.pass))
	reach := float64(s.reach)
	if s.fading > 0 || then < math.Abs(away) || then < 0.5*reach || then < reach && !s.quiet(x, time) {
		return
	}
	to, alike, price := s.best(x, time)
	if price > 0.1 && then < 1.5*reach {
		return
	}
	s.old, s.place, s.fading = s.place, to, s.fade
	s.gains = newFadeGains(alike)
}

// quiet reports whether the fade to come is 20 dB below its surroundings.
func (s *splicer) quiet(x *history, time float64) bool {
	first, n := floor(s.place), int(float64(s.fade)*s.read)
	here := power(x.from(first)[:n]) / float64(n)
	around := power(x.from(floor(time) - 2*s.reach)[:4*s.reach]) / float64(4*s.reach)
	return here <= 0.01*around
}

func floor(x float64) int { return int(math.Floor(x)) }

// sparse is how far apart the frames are where sounds are compared.
const sparse = 3

// power is the sum of the squares, of one frame in three.
func power(x []dsp.Frame) (sum float64) {
	for i := 0; i < len(x); i += sparse {
		sum += x[i][0]*x[i][0] + x[i][1]*x[i][1]
	}
	return sum
}

// best is the place within reach of the time, a whole number of frames away,
// where the sound is most like what would come, less twice the share of the
// power around that is left out, heard twice or faded. It tells how much it is
// alike, and that share.
func (s *splicer) best(x *history, time float64) (to, alike, price float64) {
	from, now := floor(s.place), floor(time)
	n := int(float64(s.fade) * s.read)
	here := x.from(from)[:n]
	first := now - 2*s.reach
	sums := s.sums
	for i, f := range x.from(first)[:len(sums)-1] {
		sums[i+1] = sums[i] + f[0]*f[0] + f[1]*f[1]
	}
	last := len(sums) - 1
	all := sums[last] + math.SmallestNonzeroFloat64
	most := math.Inf(-1)
	for d := -s.reach; d <= s.reach; d += 2 {
		at := now + d
		c := similarity(here, x.from(at)[:n], sparse)
		lo, hi := min(at, from)-first, max(at, from)+n-first
		share := (sums[min(hi, last)] - sums[min(max(lo, 0), last)]) / all
		if score := c - 2*share - 0.1*math.Abs(float64(d))/float64(s.reach); score > most {
			to, alike, price, most = float64(at)+s.place-float64(from), c, share, score
		}
	}
	return to, alike, price
}

// similarity is the normalised correlation of two pieces of sound, from −1 to 1,
// 0 where either is silent, of every step-th frame.
func similarity(a, b []dsp.Frame, step int) float64 {
	var ab, aa, bb float64
	for i := 0; i < len(a) && i < len(b); i += step {
		ab += a[i][0]*b[i][0] + a[i][1]*b[i][1]
		aa += a[i][0]*a[i][0] + a[i][1]*a[i][1]
		bb += b[i][0]*b[i][0] + b[i][1]*b[i][1]
	}
	if aa == 0 || bb == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// fadeGains are those of a cross-fade that keeps the power of two sounds that
// are alike to some degree: raised cosines over the root of the power that
// they would have.
type fadeGains struct{ alike float64 }

func newFadeGains(alike float64) fadeGains { return fadeGains{min(max(alike, 0), 1)} }

// at is what to multiply the new and the old sound by while a part of the fade,
// from 1 to 0, is left.
func (g fadeGains) at(left float64) (in, away float64) {
	away = 0.5 - 0.5*math.Cos(math.Pi*left)
	in = 1 - away
	scale := 1 / math.Sqrt(in*in+away*away+2*g.alike*in*away)
	return in * scale, away * scale
}
