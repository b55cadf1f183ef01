package measure

import (
	"math"

	"strop/dsp"
)

// MaskedDB is how much a sound is covered by another, from the levels of their
// third-octave bands: the mean, over the bands that the sound has, of by how
// much the level of a band rises when the other is added,
//
//	10·log10(1 + P_other/P_sound)
//
// The bands are those no more than 30 dB under the sound's strongest, each
// counted alike, as third octaves are about as wide as the ear's filters above
// 500 Hz. 0 where the other has nothing there; 3 dB where both are as strong.
// It says nothing of time: two parts that alternate do not cover each other.
//
// Source: energetic masking as the rise of excitation by the masker; H.
// Fletcher, Auditory patterns, Reviews of Modern Physics 12 (1940) (from
// memory).
func MaskedDB(sound, other Facts) float64 {
	loudest := math.Inf(-1)
	for _, db := range sound.BandsDB {
		loudest = max(loudest, db)
	}
	if math.IsInf(loudest, -1) {
		return 0
	}
	sum, n := 0.0, 0.0
	for i, db := range sound.BandsDB {
		if db > loudest-maskedRangeDB {
			sum += dsp.PowerToDB(1 + math.Pow(10, (other.BandsDB[i]-db)/10))
			n++
		}
	}
	return sum / n
}

// maskedRangeDB is how far under its strongest band a sound is listened to.
const maskedRangeDB = 30.0

// Tilted are facts of a sound whose bands were turned by the response of a
// linear processor, given in dB at each mid-band frequency.
func (f Facts) Tilted(responseDB func(freqHz float64) float64) Facts {
	for i := range f.BandsDB {
		f.BandsDB[i] += responseDB(dsp.ThirdOctaveHz(i))
	}
	f.TotalDB = TotalDB(f.BandsDB)
	return f
}
