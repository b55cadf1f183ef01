package measure

import (
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/fourier"
)

// What the meters of a voice share: bands without phase, powers by hops of 5
// ms, the level of the voice.
const (
	voiceHopS    = 0.005
	voiceRangeDB = 20.0 // hops so far under the loudest belong to the voice
	midLoHz      = 200.0
	midHiHz      = 2000.0
	topLoHz      = 5000.0
	topHiHz      = 10000.0
	voiceEdgeOct = 1.0 / 3 // over which a band begins or ends
)

// voice is a clip of one voice.
type voice struct {
	rateHz   float64
	hop      int // frames
	fft      *fourier.FFT
	sides    [2][]complex128 // spectra of the channels, one and the same where they are alike
	frames   int
	mid, top []float64 // power of 0.2 to 2 kHz and of 5 to 10 kHz, by hops
	least    float64   // power of mid from which the voice sounds
	level    float64   // mean power of mid while the voice sounds
}

// newVoice is nil where nothing sounds.
func newVoice(buf []dsp.Frame, rateHz float64) *voice {
	v := &voice{rateHz: rateHz, hop: int(math.Round(voiceHopS * rateHz)), fft: planFor(len(buf) + len(buf)/8), frames: len(buf)}
	v.sides[0] = spectrumOf(v.fft, Left.Samples(buf))
	v.sides[1] = v.sides[0]
	if slices.ContainsFunc(buf, func(f dsp.Frame) bool { return f[0] != f[1] }) {
		v.sides[1] = spectrumOf(v.fft, Right.Samples(buf))
	}
	v.mid = hopPowers(v.band(midLoHz, midHiHz), v.hop)
	if len(v.mid) == 0 || !(slices.Max(v.mid) > 0) {
		return nil
	}
	v.top = hopPowers(v.band(topLoHz, topHiHz), v.hop)
	n := 0
	v.least = slices.Max(v.mid) * math.Pow(10, -voiceRangeDB/10)
	for k, p := range v.mid {
		if v.sounds(k) {
			v.level += p
			n++
		}
	}
	v.level /= float64(n)
	return v
}

// sounds reports whether the voice does, in a hop.
func (v *voice) sounds(k int) bool { return v.mid[k] >= v.least }

// band is both channels of the clip between two frequencies; 0 Hz or half the
// rate is no limit.
func (v *voice) band(loHz, hiHz float64) []dsp.Frame {
	left := v.bandOf(v.sides[0], loHz, hiHz)
	right := left
	if &v.sides[0][0] != &v.sides[1][0] {
		right = v.bandOf(v.sides[1], loHz, hiHz)
	}
	y := make([]dsp.Frame, v.frames)
	for i := range y {
		y[i] = dsp.Frame{left[i], right[i]}
	}
	return y
}

func (v *voice) bandOf(side []complex128, loHz, hiHz float64) []float64 {
	z, binHz := make([]complex128, len(side)), v.rateHz/float64(v.fft.Len())
	for k := range z {
		f, gain := float64(k)*binHz, 1.0
		if loHz > 0 {
			gain = raised(0.5 + math.Log2(f/loHz)/voiceEdgeOct)
		}
		if hiHz < v.rateHz/2 {
			gain *= raised(0.5 - math.Log2(f/hiHz)/voiceEdgeOct)
		}
		z[k] = side[k] * complex(gain, 0)
	}
	return samplesOf(v.fft, z)
}

// peakOfFrames is the highest sample of either channel from one frame to
// another, as far as there are any, and where.
func peakOfFrames(buf []dsp.Frame, from, to int) (peak float64, at int) {
	for i := max(from, 0); i < min(to, len(buf)); i++ {
		if p := max(math.Abs(buf[i][0]), math.Abs(buf[i][1])); p > peak {
			peak, at = p, i
		}
	}
	return peak, at
}
