package space

import (
	"math"

	"strop/dsp"
)

// Bands is the number of octave bands in which decays are set, from 63 Hz to
// 16 kHz.
const Bands = 9

// BandHz is the exact mid-band frequency of the i-th octave band.
//
//	f = 1000·10^(0.3·(i−4))
//
// Source: IEC 61260-1:2014, base-ten octaves.
func BandHz(i int) float64 { return 1000 * math.Pow(10, 0.3*float64(i-4)) }

// Parameters that reverbs share.
var (
	decayParam  = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.2, Max: 3, Neutral: 1.2, Scale: dsp.Log}
	bassParam   = dsp.Param{ID: "bassRatio", Name: "bass decay", Min: 0.5, Max: 2, Neutral: 1.1, Scale: dsp.Log}
	trebleParam = dsp.Param{ID: "trebleRatio", Name: "treble decay", Min: 0.25, Max: 1, Neutral: 0.5, Scale: dsp.Log}
)

// Decays are the decay times in seconds that a setting of decayS, bassRatio and
// trebleRatio asks for, by octave bands:
//
//	T(f) = decayS·trebleRatio^(log2(f/1 kHz)/3)   above 1 kHz
//	T(f) = decayS·bassRatio^(log2(1 kHz/f)/3)     below
//
// so that the ratios are those of 8 kHz and of 125 Hz to 1 kHz.
func Decays(decayS, bassRatio, trebleRatio float64) (decaysS [Bands]float64) {
	for i := range decaysS {
		decaysS[i] = decayAt(BandHz(i), decayS, bassRatio, trebleRatio)
	}
	return decaysS
}

// decayAt is T(f).
func decayAt(freqHz, decayS, bassRatio, trebleRatio float64) float64 {
	oct, ratio := (math.Log2(freqHz/1000))*bandPerOct, trebleRatio
	if oct < 0 {
		oct, ratio = -oct, bassRatio
	}
	return decayS * math.Pow(ratio, oct/3)
}

// bandPerOct makes the base-ten octaves of the bands whole ones.
const bandPerOct = 1 / (0.3 * math.Ln10 / math.Ln2)

// decaysOf is Decays of a setting.
func decaysOf(s dsp.Setting, decayS dsp.Param) [Bands]float64 {
	return Decays(s.Get(decayS), s.Get(bassParam), s.Get(trebleParam))
}

// SabineS is the decay time in s of a room of volumeM3 with absorptionM2 square
// metres of open window: 24·ln10/c·V/A, c = 343 m/s.
// Source: ISO 354:2003; W. C. Sabine, Collected Papers on Acoustics (1922).
func SabineS(volumeM3, absorptionM2 float64) float64 {
	return 24 * math.Ln10 / soundMPS * volumeM3 / absorptionM2
}

// EyringS is the same for a room whose surface of surfaceM2 absorbs the share
// mean, 0 to 1, of what falls on it.
// Source: C. F. Eyring, Reverberation time in "dead" rooms, JASA 1 (1930).
func EyringS(volumeM3, surfaceM2, mean float64) float64 {
	return SabineS(volumeM3, -surfaceM2*math.Log1p(-mean))
}

// soundMPS is the speed of sound in air of 20 °C.
const soundMPS = 343
