package measure

import (
	"math"

	"strop/dsp"
)

// Facts are what is measured of a loop: what it can show, and how loud it is.
type Facts struct {
	LoudnessLUFS float64                   // integrated, ITU-R BS.1770-5; -Inf for silence
	TruePeakDBTP float64                   // greatest true peak
	TotalDB      float64                   // power of all bands together
	BandsDB      [dsp.ThirdOctaves]float64 // level of each third-octave band; -Inf where there is nothing
}

// FactsOf measures frames at rateHz.
func FactsOf(frames []dsp.Frame, rateHz float64) Facts {
	bands := ThirdOctavesDB(frames, rateHz)
	return Facts{
		LoudnessLUFS: IntegratedLUFS(frames, rateHz),
		TruePeakDBTP: TruePeakDBTP(frames, rateHz),
		TotalDB:      TotalDB(bands),
		BandsDB:      bands,
	}
}

// QuietDB is how far under the total a band may lie and still show what is
// done to it. Common practice, no source.
const QuietDB = 45.0

// Carries reports whether the band of widthOct octaves around freqHz lies no
// more than QuietDB under the total. A band narrower than a third of an octave
// is taken as one.
func (f Facts) Carries(freqHz, widthOct float64) bool {
	power, reach := 0.0, max(widthOct/2, 1.0/6+1e-6)
	for i, db := range f.BandsDB {
		if math.Abs(dsp.Octaves(freqHz, dsp.ThirdOctaveHz(i))) < reach {
			power += math.Pow(10, db/10)
		}
	}
	return dsp.PowerToDB(power) > f.TotalDB-QuietDB
}

// ShiftDB is the largest change of a band's level from one render to another,
// over the bands that lie no more than QuietDB under the total in either.
func ShiftDB(before, after Facts) float64 {
	shift := 0.0
	for i := range before.BandsDB {
		if max(before.BandsDB[i]-before.TotalDB, after.BandsDB[i]-after.TotalDB) > -QuietDB {
			shift = max(shift, math.Abs(after.BandsDB[i]-before.BandsDB[i]))
		}
	}
	return shift
}
