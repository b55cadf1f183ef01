package tools

import (
	"errors"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
	"strop/dsp/space"
	"strop/dsp/stereo"
)

// attributeNumber names what differs; attributeSize how much, 0 to 1, and
// which way, above 0 for more.
var (
	attributeNumber = dsp.Param{ID: "attribute", Name: "attribute", Min: 1, Max: 16, Neutral: 1, Scale: dsp.Whole}
	attributeSize   = dsp.Param{ID: "size", Name: "size", Min: -1, Max: 1, Neutral: 0}
)

// attribute is one thing that two mixes differ in.
type attribute struct {
	name  string
	make  func(c drills.Clip, size float64) ([]drills.Insert, error)
	shows func(c drills.Clip) bool // whether a mix can differ in it; nil: any can
}

// attributes is the table of all. A record names one by its number: nothing is
// ever moved.
func attributes() []attribute {
	return []attribute{
		{name: "low end", make: func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(eq.LowShelf.New(c.Loop.RateHz, dsp.Setting{"freqHz": 110, "gainDB": 8 * size}))
		}},
		{name: "brightness", make: func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(eq.HighShelf.New(c.Loop.RateHz, dsp.Setting{"freqHz": 5000, "gainDB": 8 * size}))
		}},
		{name: "level of the voice", make: voiceLevel, shows: func(c drills.Clip) bool { return len(leads(c)) > 0 }},
		{name: "width", make: func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(stereo.Width.New(c.Loop.RateHz, dsp.Setting{"widthPct": 100 + 100*size}))
		}, shows: func(c drills.Clip) bool { return -measure.MidSideDB(c.Frames) > leastSideDB }},
		{name: "depth", make: func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(space.Room.New(c.Loop.RateHz, dsp.Setting{"drrDB": 24 - 24*abs(size), "decayS": 0.7}))
		}},
		{name: "dynamics", make: func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(mixCompressor(c, 0.5+9.5*abs(size), dsp.Setting{compRatio.ID: 4, compAttack.ID: 5, compRelease.ID: 120}))
		}},
	}
}

// mixCompressor takes about meanDB away on average, by the loudest second of
// the mix: nothing is measured of it, and the search is short.
func mixCompressor(c drills.Clip, meanDB float64, set dsp.Setting) (dsp.Processor, error) {
	return compressorFor(loudestPart(c.Frames, int(c.Loop.RateHz)), c.Loop.RateHz, meanDB, set)
}

func abs(v float64) float64 { return max(v, -v) }

func onMix(p dsp.Processor, err error) ([]drills.Insert, error) {
	return []drills.Insert{{Processor: p}}, err
}

// leads are the stems of lead voices that play.
func leads(c drills.Clip) (on []int) {
	for _, n := range playing(c) {
		if role := c.Stem(n).Role; role == drills.LeadVocal || role == drills.Speech {
			on = append(on, n)
		}
	}
	return on
}

// voiceLevel turns every lead voice.
func voiceLevel(c drills.Clip, size float64) (inserts []drills.Insert, err error) {
	for _, n := range leads(c) {
		p, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": 8 * size})
		if err != nil {
			return nil, err
		}
		inserts = append(inserts, drills.Insert{Stems: []int{n}, Processor: p})
	}
	return inserts, nil
}

// shown are the numbers of the attributes that a mix can differ in.
func shown(c drills.Clip) (numbers []int) {
	for i, a := range attributes() {
		if a.shows == nil || a.shows(c) {
			numbers = append(numbers, i+1)
		}
	}
	return numbers
}

var attributeAnswer = cards{params: []dsp.Param{attributeNumber}, say: func(s dsp.Setting) string { return attributes()[int(s.Get(attributeNumber))-1].name }}

// mixAttribute asks in what two mixes differ, as when a reference is listened
// to for one thing only. Width needs a stereo mix, the voice a voice.
func mixAttribute() drills.Tool {
	return drills.Tool{
		ID: "mix-attribute", Title: "What differs", Type: "mix",
		Doc:        "Hear in which one thing two mixes differ, as when listening to a reference.",
		Source:     noPublished,
		Confusable: []string{"mix-insert"},
		Error:      wrong, Unit: "of 1",
		Level: dsp.Param{ID: "size", Name: "size of the difference", Unit: "of 1", Min: 0.04, Max: 0.9, Neutral: 0.7, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "five", Title: "one of five", Surface: drills.Cards},
		},
		Params:       []dsp.Param{attributeNumber, attributeSize},
		Fit:          drills.Fit{Mix: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			numbers := shown(d.Clip)
			n := numbers[d.R.IntN(len(numbers))]
			return dsp.Setting{attributeNumber.ID: float64(n), attributeSize.ID: either(d, d.Level, -d.Level)}, nil
		},
		Choices: attributeChoices,
		Change: func(c drills.Clip, _ int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			return attributes()[int(s.Get(attributeNumber))-1].make(c, s.Get(attributeSize))
		},
		Question: func(drills.Draw, dsp.Setting) string { return "In what do the two mixes differ?" },
		Read:     attributeAnswer.Read, Grade: attributeAnswer.Grade, Tell: attributeAnswer.Tell,
		Region: func(truth dsp.Setting) string { return attributeAnswer.say(truth) },
	}
}

// attributeChoices are the truth and others that the mix could differ in.
func attributeChoices(d drills.Draw, asked dsp.Setting) (choices []drills.Choice, err error) {
	n := layers[d.Rung.ID]
	keep := []int{int(asked.Get(attributeNumber))}
	for _, other := range shuffled(d, shown(d.Clip)) {
		if len(keep) < n && !slices.Contains(keep, other) {
			keep = append(keep, other)
		}
	}
	if len(keep) < n {
		return nil, errors.New("this mix can differ in too few things")
	}
	slices.Sort(keep)
	for _, number := range keep {
		choices = append(choices, drills.Choice{Label: attributes()[number-1].name, Guess: dsp.Setting{attributeNumber.ID: float64(number)}})
	}
	return choices, nil
}
