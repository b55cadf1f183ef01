package measure

import (
	"math"
	"sync"

	"strop/dsp"
)

// MaskedDB is how much a sound is covered by another: the mean, over the
// third-octave bands that the sound has, of by how much the excitation in the
// ear rises there when the other is added,
//
//	10·log10(1 + E_other/E_sound)
//
// The excitation at a mid-band frequency is what the ear's filter there lets
// through of all bands. The sound has the bands no more than 30 dB under its
// strongest, each counted alike. 0 where the other has nothing there; 3 dB
// where both are as strong. It says nothing of time: two parts that alternate
// do not cover each other.
//
// Source: the filters are B. R. Glasberg & B. C. J. Moore, Hearing Research 47
// (1990), W = (1 + pg)·e^(−pg), p = 4·f/ERB, symmetrical at every level (from
// memory); the mean over bands is common practice, no source.
func MaskedDB(sound, other Facts) float64 { return MaskedWithinDB(sound, other, 0, math.Inf(1)) }

// MaskedWithinDB is MaskedDB over the bands between two frequencies; 0 where
// the sound has none of them.
func MaskedWithinDB(sound, other Facts, loHz, hiHz float64) float64 {
	loudest := math.Inf(-1)
	for _, db := range sound.BandsDB {
		loudest = max(loudest, db)
	}
	own, covering := sound.powers(), other.powers()
	sum, n := 0.0, 0.0
	for i, db := range sound.BandsDB {
		if hz := dsp.ThirdOctaveHz(i); hz < loHz || hz > hiHz || db <= loudest-maskedRangeDB {
			continue
		}
		sum += dsp.PowerToDB(1 + behindFilter(&covering, i)/behindFilter(&own, i))
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// maskedRangeDB is how far under its strongest band a sound is listened to.
// Common practice, no source.
const maskedRangeDB = 30.0

// bandPowers are the powers of the third-octave bands.
type bandPowers [dsp.ThirdOctaves]float64

func (f *Facts) powers() (powers bandPowers) {
	for i, db := range f.BandsDB {
		powers[i] = math.Pow(10, db/10)
	}
	return powers
}

// behindFilter is the power behind the ear's filter at a third-octave band.
func behindFilter(powers *bandPowers, band int) (power float64) {
	for i, w := range &bandFilters()[band] {
		power += w * powers[i]
	}
	return power
}

// bandFilters are the weights of all bands in the ear's filter at each.
var bandFilters = sync.OnceValue(func() *[dsp.ThirdOctaves]bandPowers {
	var weights [dsp.ThirdOctaves]bandPowers
	for band := range weights {
		centreHz := dsp.ThirdOctaveHz(band)
		p := 4 / dsp.ERBHz(centreHz)
		for i := range weights[band] {
			x := p * math.Abs(dsp.ThirdOctaveHz(i)-centreHz)
			weights[band][i] = (1 + x) * math.Exp(-x)
		}
	}
	return &weights
})

// Tilted are facts of a sound whose bands were turned by the response of a
// linear processor, given in dB at each mid-band frequency. What is measured of
// the whole but its power stays as it was.
func (f Facts) Tilted(responseDB func(freqHz float64) float64) Facts {
	for i := range f.BandsDB {
		f.BandsDB[i] += responseDB(dsp.ThirdOctaveHz(i))
	}
	f.TotalDB = TotalDB(f.BandsDB)
	return f
}
