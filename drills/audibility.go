package drills

import (
	"math"

	"strop/dsp"
	"strop/dsp/measure"
)

// audibility tells what of a change can be heard, at one rate at a time. Each
// of its ears may listen while the other does.
type audibility struct {
	ears   [2]*measure.AudibilityMeter
	rateHz float64
}

// The ears, by what they listen to.
const (
	toUntouched = iota
	toChanged
)

// prepare gets the ears ready for a rate.
func (a *audibility) prepare(rateHz float64) {
	if a.rateHz == rateHz {
		return
	}
	a.rateHz = rateHz
	for i := range a.ears {
		a.ears[i] = measure.NewAudibilityMeter(rateHz)
		a.ears[i].Channels = []measure.Channel{measure.Left, measure.Right, measure.Mid}
	}
}

// between is the largest change of excitation from one render to another that
// is turned by turnedDB, in the left and right channels and in their sum.
func (a *audibility) between(before, after measure.Excitation, turnedDB float64, brief bool) (db float64) {
	a.ears[toChanged].Peak = brief
	if db = a.ears[toChanged].Compare(before, after, turnedDB).DB; math.IsNaN(db) {
		return 0
	}
	return db
}

// known is what was measured of the sounds that were untouched lately. The
// same ones come back: a loop is asked about again, and a trial is drawn anew
// on it until it shows as much as is wanted.
type known struct {
	prints [knownSounds]print
	sounds [knownSounds]measured
	next   int
}

const knownSounds = 8

// print tells sounds apart, by the power of either channel to the last bit.
type print struct {
	left, right, rateHz float64
	n                   int
}

func printOf(frames []dsp.Frame, rateHz float64) print {
	p := print{rateHz: rateHz, n: len(frames)}
	for _, f := range frames {
		p.left += f[0] * f[0]
		p.right += f[1] * f[1]
	}
	return p
}

// measure is what make measures of frames, or did when it heard them last.
func (k *known) measure(frames []dsp.Frame, rateHz float64, make func() measured) measured {
	p := printOf(frames, rateHz)
	for i := range k.prints {
		if k.prints[i] == p {
			return k.sounds[i]
		}
	}
	m := make()
	k.prints[k.next], k.sounds[k.next] = p, m
	k.next = (k.next + 1) % knownSounds
	return m
}
