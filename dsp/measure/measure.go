// Package measure holds the meters: loudness, true peak, third-octave
// spectrum, correlation, and the report that brings them together.
//
// Every meter is a dsp.Processor that leaves the frames it is given unchanged
// and may stand anywhere in a chain. What it reads depends on the frames
// since Reset only, not on how they were split into blocks. Memory is taken
// when a meter is made and does not grow: a meter of hours is no larger than
// one of seconds.
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
