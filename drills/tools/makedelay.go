package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

// nudge is by how much a microphone is moved in time: below 0 sooner.
var nudge = dsp.Param{ID: "nudgeMS", Name: "nudge", Unit: "ms", Min: -12, Max: 12, Neutral: 0}

var nudgeAnswer = scale{
	param: nudge, key: "errorMS", near: 0.25,
	say: func(ms float64) string {
		way := unit(1, "cm")(math.Abs(ms) / 10 * stereo.SpeedOfSoundMPS)
		switch {
		case ms < 0:
			return unit(2, "ms")(-ms) + " sooner, " + way
		case ms > 0:
			return unit(2, "ms")(ms) + " later, " + way
		}
		return "no nudge"
	},
	off: over(func(ms float64) string { return unit(2, "ms")(math.Abs(ms)) }, "too late", "too soon"),
}

// makeDelay has the engineer align two microphones again of which one was moved
// in time.
//
// The ladder is the hidden move. A copy is heard as a comb from 0.1 ms on:
// S. Brunner, H.-J. Maempel, S. Weinzierl, AES 122nd Convention (2007), as
// quoted; 0.5 ms as its hard end is common practice, no source.
func makeDelay() drills.Tool {
	return drills.Tool{
		ID: "make-delay", Title: "Align two microphones", Type: "phase",
		Doc:        "Move one of two microphones back in time until both agree again: say the move first, then make it.",
		Source:     "combs are heard from 0.1 ms: Brunner, Maempel & Weinzierl, AES 122nd Convention (2007), as quoted; from 0.5 ms: common practice, no source",
		Confusable: []string{"mic-delay", "mic-polarity"},
		Error:      nudgeAnswer.key, Unit: "ms",
		Floor:  drills.AtThreshold,
		Near:   within(nudgeAnswer.near),
		Level:  dsp.Param{ID: "hiddenMS", Name: "hidden move", Unit: "ms", Min: 0.2, Max: 6, Neutral: 3, Scale: dsp.Log},
		Rungs:  []drills.Rung{{ID: "turn", Title: "a nudge", Surface: drills.Knobs}},
		Params: []dsp.Param{nudge},
		Fit:    drills.Fit{Stems: true, Pair: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{nudge.ID: either(d, d.Level, -d.Level)}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return nudged(c, on, -s.Get(nudge))
		},
		Mend: func(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
			return nudged(c, on, guess.Get(nudge)-truth.Get(nudge))
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "Move " + d.Where() + " in time until it agrees with " + partnerOf(d) + " as it did."
		},
		Read:  readDelay(readKnobs(nudge)),
		Grade: nudgeAnswer.Grade, Tell: tellUndone(nudgeAnswer),
		Region: upOrDown(nudge, "moved sooner", "moved later"),
	}
}

// nudged moves one of two microphones in time, sooner too.
func nudged(c drills.Clip, on int, ms float64) ([]drills.Insert, error) {
	ahead := int(math.Ceil(max(0, -ms) * c.Loop.RateHz / 1000))
	late := ms + float64(ahead)*1000/c.Loop.RateHz
	p, err := stereo.Delay.New(c.Loop.RateHz, dsp.Setting{"delayMS": late, "left": 1, "right": 1})
	return onOneOfTwo(c, on, sooner{p, ahead}), err
}

// sooner states more delay than is wanted: what is turned back of it leaves a
// loop so many frames ahead.
type sooner struct {
	dsp.Processor
	frames int
}

var _ dsp.Delayer = sooner{}

// DelayFrames is the lag of the processor and the frames that are gained.
func (s sooner) DelayFrames() int { return dsp.DelayFrames(s.Processor) + s.frames }
