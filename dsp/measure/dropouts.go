package measure

import (
	"math"

	"strop/dsp"
)

const (
	lossShortestS = 0.0025
	lossLongestS  = 0.150
	lossEdgeS     = 0.002 // in which it may fade
	lossBesideS   = 0.008 // before that, and after it, there must be sound
	lossLoudDB    = -30   // re the rms of the clip
	lossAlikeDB   = 15    // both sides, at most
)

// DropoutsOf finds where all sound is lost for 2.5 to 150 ms: rows of frames
// that are 0 in both channels, to −120 dBFS, between sound that is no softer
// than 30 dB under the clip's rms, to within 2 ms of the row, and no more than
// 15 dB louder on the one side than on the other. Pauses in a sound that dies
// away or begins anew are none.
//
//	Frame, Frames  of the row; the fades at its edges do not count
//	SizeDB         level of the row over that of its sides, −Inf for zeros
//
// Source: common practice, no source.
func DropoutsOf(buf []dsp.Frame, rateHz float64) (dropouts []Event) {
	checkRate(rateHz)
	loud := math.Pow(10, lossLoudDB/10.0) * framePower(buf)
	shortest, longest := int(lossShortestS*rateHz), int(lossLongestS*rateHz)
	for i := 0; i < len(buf); i++ {
		from := i
		for i < len(buf) && lost(buf[i]) {
			i++
		}
		if n := i - from; n < shortest || n > longest {
			continue
		}
		edge, beside := int(lossEdgeS*rateHz), int(lossBesideS*rateHz)
		before := framePower(buf[max(0, from-edge-beside):max(0, from-edge)])
		after := framePower(buf[min(len(buf), i+edge):min(len(buf), i+edge+beside)])
		if min(before, after) > loud && math.Abs(dsp.PowerToDB(before/after)) < lossAlikeDB {
			row := framePower(buf[from:i])
			dropouts = append(dropouts, Event{from, i - from, dsp.PowerToDB(2 * row / (before + after))})
		}
	}
	return dropouts
}

func lost(f dsp.Frame) bool { return math.Abs(f[0]) < 1e-6 && math.Abs(f[1]) < 1e-6 }

// framePower is the mean power of both channels together, 0 of nothing.
func framePower(buf []dsp.Frame) (sum float64) {
	for _, f := range buf {
		sum += f[0]*f[0] + f[1]*f[1]
	}
	return sum / float64(max(len(buf), 1))
}
