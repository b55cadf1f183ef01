package demo

import (
	"math"
	"math/rand/v2"

	"strop/dsp"
	"strop/dsp/eq"
)

// stringScore is a plucked string with a magnetic pickup, a waveguide: a noise
// of one period goes round a delay line and loses a little each time.
//
//	pluck    where it is plucked, as a part of its length          0.13
//	pickup   where it is heard                                     0.22
//	sustain  time of its fundamental to −60 dB, in s               6
//	bright   what is left of half the sample rate on each round    0.6
//	click    of the plectrum, cut-off in Hz of a loud note         2200
//	cut      of the pickup, in Hz                                  4000
//
// A soft note is muted with the palm. The harmonics lie on whole multiples of
// the note within a cent: the phase delay of each part of the loop is known
// and made up for.
//
// Source: Jaffe & Smith, Extensions of the Karplus-Strong Plucked-String
// Algorithm, Computer Music Journal 7 (1983) (from memory).
type stringScore struct {
	pluck, pickup, sustainS, bright, clickHz, cutHz float64
}

var plainString = stringScore{pluck: 0.13, pickup: 0.22, sustainS: 6, bright: 0.6, clickHz: 2200, cutHz: 4000}

func (s *stringScore) fields(f fields) {
	f.figures["pluck"], f.figures["pickup"] = &s.pluck, &s.pickup
	f.figures["sustain"], f.figures["bright"] = &s.sustainS, &s.bright
	f.figures["click"], f.figures["cut"] = &s.clickHz, &s.cutHz
}

// palm is what is left of sustain and brightness under the palm.
const palmSustain, palmBright = 0.12, 0.55

// pickupQ is that of a pickup's inductance with its cable. Common practice, no
// source.
const pickupQ = 1.3

func (src *sourceScore) playStrings(dst track, events []event, r *rand.Rand) {
	for _, e := range events {
		src.str.play(dst[0], e, r)
	}
	filter(dst[0], eq.CookbookLowPass(rateHz, src.str.cutHz, pickupQ))
}

// play adds one note. The loop is a delay of whole frames, an all-pass for
// the rest of the period, and a low-pass of three taps whose delay is one
// frame at every frequency.
func (s stringScore) play(dst []float64, e event, r *rand.Rand) {
	freqHz := 440 * math.Exp2((e.key-69)/12) * (1 + pitchRate*(2*r.Float64()-1)/2)
	sustainS, bright := s.sustainS*math.Sqrt(110/freqHz), s.bright
	if e.soft {
		sustainS, bright = sustainS*palmSustain, bright*palmBright
	}
	period := rateHz / freqHz
	whole, pass := s.split(period)
	line := s.excite(whole, period, e, r)
	gain := dsp.FromDB(-60 * period / (sustainS * rateHz))
	middle, side := gain*(1+bright)/2, gain*(1-bright)/4
	damped := dsp.FromDB(-60 * period / (0.08 * rateHz)) // by a finger
	first := max(int(e.start), 0)
	last := min(len(dst), first+int(1.2*sustainS*rateHz))
	last = min(last, int(min(e.stop+0.15*rateHz, 1e12)))
	pick := max(1, int(s.pickup*period))
	x1, x2, y1, in1 := 0.0, 0.0, 0.0, 0.0
	for i, at := first, 0; i < last; i++ {
		x := line[at]
		low := middle*x1 + side*(x+x2)
		if late := float64(i) - e.stop; late > 0 { // a finger comes down within fadeFrames
			low *= 1 + (damped-1)*min(1, late/fadeFrames)
		}
		y := pass*(low-y1) + in1
		x2, x1, y1, in1 = x1, x, y, low
		back := at - pick
		if back < 0 {
			back += whole
		}
		dst[i] += x - 0.8*line[back]
		line[at] = y
		if at++; at == whole {
			at = 0
		}
	}
}

// split gives the frames of the delay line, and the coefficient of the
// all-pass (1 − a z)/(z − a) that has the rest of the period as its phase
// delay at the fundamental; the low-pass has one frame.
func (s stringScore) split(period float64) (whole int, pass float64) {
	whole = int(period - 1 - 0.5)
	rest := period - 1 - float64(whole) // 0.5 to 1.5
	omega := 2 * math.Pi / period
	return whole, math.Sin((1-rest)*omega/2) / math.Sin((1+rest)*omega/2)
}

// excite is what the plectrum leaves in the line: noise through a low-pass
// that is lower for softer notes, heard again from the place of the pluck.
func (s stringScore) excite(whole int, period float64, e event, r *rand.Rand) []float64 {
	line := make([]float64, whole)
	cutHz := min(s.clickHz*dsp.FromDB(e.levelDB), 20000)
	smooth, low, mean := math.Exp(-2*math.Pi*cutHz/rateHz), 0.0, 0.0
	for i := range line {
		low += (1 - smooth) * (r.NormFloat64() - low)
		line[i] = low
		mean += low / float64(whole)
	}
	pluck, power := max(1, int(s.pluck*period)), 0.0
	comb := make([]float64, whole)
	for i := range comb {
		comb[i] = line[i] - mean - 0.9*(line[(i+whole-pluck)%whole]-mean)
		power += comb[i] * comb[i] / float64(whole)
	}
	ratio := dsp.FromDB(e.levelDB) * 0.2 / math.Sqrt(power+1e-30)
	for i := range comb {
		comb[i] *= ratio
	}
	return comb
}
