package drills

import (
	"math"
	"slices"

	"strop/dsp"
	"strop/dsp/measure"
)

// audibility tells what of a change can be heard, at one rate at a time.
type audibility struct {
	meter  *measure.AudibilityMeter
	rateHz float64
}

// between is the largest change of excitation from one render to another, in
// the left and right channels and in their sum.
func (a *audibility) between(before, after []dsp.Frame, rateHz float64, brief bool) (db float64) {
	if a.meter == nil || a.rateHz != rateHz {
		a.meter, a.rateHz = measure.NewAudibilityMeter(rateHz), rateHz
		a.meter.Channels = []measure.Channel{measure.Left, measure.Right, measure.Mid}
	}
	a.meter.Peak = brief
	a.meter.Before(before)
	if db = a.meter.After(after).DB; math.IsNaN(db) {
		return 0
	}
	return db
}

// scaled is between, with after turned by gainDB.
func (a *audibility) scaled(before, after []dsp.Frame, gainDB, rateHz float64, brief bool) float64 {
	if gainDB != 0 {
		after = slices.Clone(after)
		dsp.Gain(dsp.FromDB(gainDB)).Process(after)
	}
	return a.between(before, after, rateHz, brief)
}
