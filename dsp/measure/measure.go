// Package measure holds the meters. Of sound: loudness, true peak, third-octave
// spectrum, spectrogram, correlation, mid and side, what mono loses, the
// report that brings the usual ones together, and audibility, the change
// between two renders in the ear. Of a source and what is wrong with it: mains,
// noise floor, clipping, clicks, dropouts, DC. Of a processor: latency and
// polarity, response and harmonics, static curve, attack and release,
// distortion.
//
// A meter that reads sound as it comes, such as a LoudnessMeter, is a
// dsp.Processor that leaves the frames it is given unchanged and may stand
// anywhere in a chain. What it reads depends on the frames since Reset only,
// not on how they were split into blocks. Memory is taken when it is made and
// does not grow: a meter of hours is no larger than one of seconds. All else
// works on a clip.
//
// The level of nothing is -Inf. A NaN in the signal makes the readings that
// it touches NaN; it is never left out.
package measure

import (
	"fmt"

	"strop/dsp"
)

// checkRate panics at a rate that no meter is made for: a meter is built for
// the rate of frames in hand, which whoever decoded them has checked.
func checkRate(rateHz float64) {
	if err := rateError(rateHz); err != nil {
		panic("measure: " + err.Error())
	}
}

func rateError(rateHz float64) error {
	if rateHz >= dsp.MinRateHz && rateHz <= dsp.MaxRateHz {
		return nil
	}
	return fmt.Errorf("a sample rate of %g Hz is outside %d to %d Hz", rateHz, dsp.MinRateHz, dsp.MaxRateHz)
}
