package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

// turnedMic is how far a microphone whose polarity is turned over lies under
// its place in the mix.
var turnedMic = dsp.Param{ID: "turnedDB", Name: "level of the turned microphone", Unit: "dB", Min: -9, Max: 0, Neutral: 0}

// yesOrNo is the share of trials without a change where the question is whether
// there is one: half.
const yesOrNo = 0.5

// micPolarity asks whether one of two microphones on the same source has its
// polarity turned over.
//
// The ladder is its level: the softer it is, the less of the other it takes
// away, and both together stay as loud as they were. Two signals of which one lies 9 dB under the other cancel to −3.8 dB
// and add up to +2.6 dB, 20·log10(1 ∓ 10^(−9/20)), computed.
func micPolarity() drills.Tool {
	answer := cards{say: func(dsp.Setting) string { return "turned over" }}
	return drills.Tool{
		ID: "mic-polarity", Title: "Polarity of a microphone", Type: "phase",
		Doc:        "Hear whether one of two microphones on a source has its polarity turned over.",
		Source:     "common practice, no source: down to 9 dB under its place",
		Confusable: []string{"mic-delay"},
		Error:      wrong, Unit: "of 1",
		Level: turnedMic, OwnLadder: true, Floor: drills.OfKinds,
		Rungs: []drills.Rung{{ID: "yes", Title: "turned over or not", Surface: drills.Cards,
			Choices: []drills.Choice{{Label: "turned over"}}}},
		Params:       []dsp.Param{turnedMic},
		Fit:          drills.Fit{Stems: true, Pair: true},
		NothingShare: yesOrNo,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{turnedMic.ID: d.Level}, nil
		},
		Change: changeMicPolarity,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "Is the polarity of " + d.Where() + " turned over against " + partnerOf(d) + "?"
		},
		Read: answer.Read, Grade: answer.Grade, Tell: answer.Tell, Region: anywhere,
	}
}

// partnerOf names the other microphone on the same source.
func partnerOf(d drills.Draw) string { return d.Clip.Where(d.Clip.Stem(d.On).Pair) }

func changeMicPolarity(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	p, err := polarity(c.Loop.RateHz)
	if err != nil {
		return nil, err
	}
	return onOneOfTwo(c, on, dsp.Chain{p, dsp.Gain(dsp.FromDB(s.Get(turnedMic)))}), nil
}

// onOneOfTwo puts a processor on one of two microphones. The other takes part:
// both together are what the trial is about, and what is heard alone.
func onOneOfTwo(c drills.Clip, on int, p dsp.Processor) []drills.Insert {
	return append(drills.OnStem(on, p), drills.Insert{Stems: []int{c.Stem(on).Pair}, Processor: dsp.Gain(1)})
}

// polarity turns both channels over.
func polarity(rateHz float64) (dsp.Processor, error) {
	return stereo.Polarity.New(rateHz, dsp.Setting{"left": 1, "right": 1})
}
