package measure

import (
	"math"

	"strop/dsp"
)

// changeFloorDB is how far under the loudest part of a sound its changes fade
// out: what is softer than that is masked or under the noise of a room. Common
// practice, no source.
const changeFloorDB = 60.0

// BandChangesDB is how much louder each third-octave band of after is than that
// of before, in dB:
//
//	10·lg((after + floor) / (before + floor))
//
// with powers over the whole, and a floor 60 dB under the loudest band of
// before. So a band in which nothing sounds has changed by 0, and one that
// noise came into by no more than can be shown. A filter on a steady sound reads as
// its response, averaged over each band. Neither is altered; both are as long.
func BandChangesDB(before, after []dsp.Frame, rateHz float64) (changesDB [dsp.ThirdOctaves]float64) {
	was, is := ThirdOctavesDB(before, rateHz), ThirdOctavesDB(after, rateHz)
	power := func(db float64) float64 { return math.Pow(10, db/10) }
	floor := 0.0
	for _, db := range was {
		floor = max(floor, power(db-changeFloorDB))
	}
	for i := range changesDB {
		changesDB[i] = overDB(power(is[i]), power(was[i]), floor)
	}
	return changesDB
}

// LevelChangesDB is the same over time: how much louder after is than before
// in each of n stretches of equal length, where the floor lies 60 dB under the
// loudest stretch of before. A compressor reads as its gain, an echo as what
// stands in the gaps.
func LevelChangesDB(before, after []dsp.Frame, n int) []float64 {
	was, is := powers(before, n), powers(after, n)
	floor := 0.0
	for _, p := range was {
		floor = max(floor, p/math.Pow(10, changeFloorDB/10))
	}
	changesDB := make([]float64, n)
	for i := range changesDB {
		changesDB[i] = overDB(is[i], was[i], floor)
	}
	return changesDB
}

func overDB(is, was, floor float64) float64 {
	if floor == 0 {
		return 0 // out of silence comes no change that could be told
	}
	return dsp.PowerToDB((is + floor) / (was + floor))
}

// powers is the mean power of n stretches, both channels together.
func powers(buf []dsp.Frame, n int) []float64 {
	all := make([]float64, n)
	for i := range all {
		lo, hi := i*len(buf)/n, (i+1)*len(buf)/n
		sum := 0.0
		for _, f := range buf[lo:hi] {
			sum += f[0]*f[0] + f[1]*f[1]
		}
		all[i] = sum / float64(max(hi-lo, 1))
	}
	return all
}
