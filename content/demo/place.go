package demo

import (
	"math"

	"strop/dsp"
)

// place is a point in a room, in metres from one corner of the floor.
type place [3]float64

// nowhere is the place of what has none.
var nowhere = place{math.MaxFloat64}

// soundMPS is the speed of sound in air of 20 °C.
const soundMPS = 343

func (p place) minus(q place) place { return place{p[0] - q[0], p[1] - q[1], p[2] - q[2]} }

func (p place) dot(q place) float64 { return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] }

func (p place) distance(q place) float64 { d := p.minus(q); return math.Sqrt(d.dot(d)) }

// patterns are the first-order microphones: omni is the share of pressure,
// the rest is gradient.
var patterns = map[string]float64{"omni": 1, "cardioid": 0.5, "hyper": 0.25, "eight": 0}

// route is the way of a sound to a microphone.
type route struct {
	delay  float64 // frames
	ratio  float64 // of pressure, to that at one metre
	cutHz  float64 // of a first-order low-pass
	thinDB float64 // low frequencies that a distant microphone does not get
}

const (
	closestM   = 0.03  // sources are no points
	offAxis    = 0.06  // what a directional microphone hears at least
	bendOct    = 1.6   // by which the cut-off falls behind a microphone
	airM       = 12.0  // in which it falls by one octave
	onAxisHz   = 26000 // cut-off in front of it
	nearM      = 0.1   // at which the bank was recorded
	thinMostDB = 3     // at a distance, below thinHz
	thinHz     = 200
)

// routeTo is the way from a source to a microphone: r/343 s late, 1/r weak,
// dull from the side, and without the proximity effect that is in the
// close-recorded samples. The laws of delay and level are physics; the rest is
// common practice, no source.
func (st *stemScore) routeTo(from place) route {
	r := max(closestM, st.at.distance(from))
	cos := st.cosine(from)
	share := patterns[st.pattern]
	gain := share + (1-share)*cos
	gain = math.Copysign(max(math.Abs(gain), offAxis), gain)
	if st.inverted {
		gain = -gain
	}
	octaves := 0.0
	if st.pattern != "omni" {
		octaves = bendOct * (1 - cos) / 2
	}
	return route{
		delay:  st.at.distance(from) / soundMPS * rateHz,
		ratio:  gain / r,
		cutHz:  onAxisHz * math.Exp2(-octaves-r/airM),
		thinDB: thinMostDB * (1 - min(1, nearM/r)),
	}
}

// cosine of the angle between where a microphone looks and a source.
func (st *stemScore) cosine(from place) float64 {
	look, to := st.aim.minus(st.at), from.minus(st.at)
	return look.dot(to) / math.Sqrt(look.dot(look)*to.dot(to)+1e-12)
}

// diffuse is what a microphone hears of sound from everywhere, re omni: the
// root of its random energy efficiency, ((1−s)² + 3s²)/3 for a share s.
func (st *stemScore) diffuse() float64 {
	s := patterns[st.pattern]
	return math.Sqrt(((1-s)*(1-s) + 3*s*s) / 3)
}

// ear applies a route, block by block. It reads the whole source, so it needs
// no memory of its own but that of its filters.
type ear struct {
	whole      int // frames of delay
	taps       [2 * earHalf]float64
	smooth     float64
	thin, keep float64
	low, deep  float64
}

// earHalf is half the taps of an ear's delay: flat to 19 kHz within 0.5 dB.
const earHalf, earBeta = 12, 6

// newEar is an ear for a route, with a kernel of earHalf.
func newEar(p route, k *kernel) *ear {
	e := &ear{
		whole:  int(math.Floor(p.delay)),
		smooth: math.Exp(-2 * math.Pi * p.cutHz / rateHz),
		keep:   math.Exp(-2 * math.Pi * thinHz / rateHz),
		thin:   1 - dsp.FromDB(-p.thinDB),
	}
	early := 1 - (p.delay - math.Floor(p.delay)) // from the frame before
	for i, tap := range k.taps[int(math.Round(early*kernelPhases))] {
		e.taps[i] = p.ratio * tap
	}
	return e
}

// add hears len(dst) frames of a source from frame from on. near has room for
// those and 2·earHalf more.
func (e *ear) add(dst []float64, src heard, from int, near []float64) {
	from -= e.whole + earHalf
	if !src.between(from, from+len(near)) && math.Abs(e.low)+math.Abs(e.deep) < silence {
		return
	}
	window(near, src.x, from)
	taps := &e.taps
	low, deep, smooth, keep, thin := e.low, e.deep, e.smooth, e.keep, e.thin
	for i := range dst {
		x := (*[2 * earHalf]float64)(near[i : i+2*earHalf])
		var a, b, c, d float64
		for j := 0; j < 2*earHalf; j += 4 {
			a += taps[j] * x[j]
			b += taps[j+1] * x[j+1]
			c += taps[j+2] * x[j+2]
			d += taps[j+3] * x[j+3]
		}
		in := a + b + (c + d)
		low = in + smooth*(low-in)
		deep = low + keep*(deep-low)
		dst[i] += low - thin*deep
	}
	e.low, e.deep = low, deep
}
