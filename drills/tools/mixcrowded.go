package tools

import (
	"errors"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
)

// rangeNumber is a part of the spectrum, from 1.
var rangeNumber = dsp.Param{ID: "range", Name: "range", Min: 1, Max: 4, Neutral: 1, Scale: dsp.Whole}

// crowdGain is by how much the parts were raised there.
var crowdGain = dsp.Param{ID: "gainDB", Name: "raised by", Unit: "dB", Min: 0, Max: 18, Neutral: 0}

// crowdRanges are the answers, with the middle of each.
var crowdRanges = []struct {
	name string
	hz   float64
}{{"the bass", 100}, {"the low middle", 350}, {"the middle", 1100}, {"the treble", 4500}}

var rangeAnswer = cards{params: []dsp.Param{rangeNumber}, say: func(s dsp.Setting) string { return crowdRanges[int(s.Get(rangeNumber))-1].name }}

// mixCrowded asks where too many parts play in one range. Two of them are
// raised there until they cover what else plays in it.
func mixCrowded() drills.Tool {
	var choices []drills.Choice
	for i, r := range crowdRanges {
		choices = append(choices, drills.Choice{Label: r.name, Guess: dsp.Setting{rangeNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "mix-crowded", Title: "Where it is crowded", Type: "mix",
		Doc:        "Hear whether too many parts play in one range, and in which.",
		Source:     bandSource,
		Confusable: []string{"eq-band"},
		Error:      wrong, Unit: "of 1",
		Level:        dsp.Param{ID: "gainDB", Name: "raised by", Unit: "dB", Min: 2, Max: 14, Neutral: 10, Scale: dsp.Log},
		Rungs:        []drills.Rung{{ID: "four", Title: "one of four ranges", Surface: drills.Cards, Choices: choices}},
		Params:       []dsp.Param{rangeNumber, crowdGain},
		Fit:          drills.Fit{Stems: true, Among: true},
		NothingShare: 0.2,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := dsp.Setting{rangeNumber.ID: float64(1 + d.R.IntN(len(crowdRanges))), crowdGain.ID: d.Level}
			return s, coversMore(d.Clip, s)
		},
		Change:   crowd,
		Question: func(drills.Draw, dsp.Setting) string { return "Where is the arrangement crowded?" },
		Read:     rangeAnswer.Read, Grade: rangeAnswer.Grade, Tell: rangeAnswer.Tell,
		Region: func(truth dsp.Setting) string { return rangeAnswer.say(truth) },
	}
}

// crowders are the two stems with the most in a range.
func crowders(c drills.Clip, s dsp.Setting) []int {
	band := dsp.NearestThirdOctave(crowdRanges[int(s.Get(rangeNumber))-1].hz)
	numbers := playing(c)
	slices.SortStableFunc(numbers, func(a, b int) int { return compare(c.On(b).BandsDB[band], c.On(a).BandsDB[band]) })
	return numbers[:min(2, len(numbers))]
}

func crowdPeak(s dsp.Setting) dsp.Setting {
	return dsp.Setting{"freqHz": crowdRanges[int(s.Get(rangeNumber))-1].hz, "gainDB": s.Get(crowdGain), "q": 0.8}
}

func crowd(c drills.Clip, _ int, s dsp.Setting) (inserts []drills.Insert, err error) {
	if len(s) == 0 {
		return nil, nil
	}
	for _, n := range crowders(c, s) {
		p, err := eq.Peak.New(c.Loop.RateHz, crowdPeak(s))
		if err != nil {
			return nil, err
		}
		inserts = append(inserts, drills.Insert{Stems: []int{n}, Processor: p})
	}
	return inserts, nil
}

// coversMore reports where raising the parts would cover nothing: the rest of
// the mix has to be covered by half a dB more than before.
func coversMore(c drills.Clip, s dsp.Setting) error {
	raised := crowders(c, s)
	if len(raised) < 2 || len(playing(c)) < 4 {
		return errFewStems
	}
	before, after := 0.0, 0.0
	tilt := peakDB(c, crowdPeak(s)["freqHz"], s.Get(crowdGain))
	for _, n := range playing(c) {
		if slices.Contains(raised, n) {
			continue
		}
		for _, k := range raised {
			before += measure.MaskedDB(c.On(n), c.On(k))
			after += measure.MaskedDB(c.On(n), c.On(k).Tilted(tilt))
		}
	}
	if after < before+0.5 {
		return errors.New("nothing else plays there to be covered")
	}
	return nil
}
