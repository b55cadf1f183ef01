package tools

import (
	"errors"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
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
	name string
	make func(c drills.Clip, size float64) ([]drills.Insert, error)
}

// attributes is the table of all. A record names one by its number: nothing is
// ever moved.
func attributes() []attribute {
	return []attribute{
		{"low end", func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(eq.LowShelf.New(c.Loop.RateHz, dsp.Setting{"freqHz": 110, "gainDB": 8 * size}))
		}},
		{"brightness", func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(eq.HighShelf.New(c.Loop.RateHz, dsp.Setting{"freqHz": 5000, "gainDB": 8 * size}))
		}},
		{"level of the voice", voiceLevel},
		{"width", func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(stereo.Width.New(c.Loop.RateHz, dsp.Setting{"widthPct": 100 + 100*size}))
		}},
		{"depth", func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(space.Room.New(c.Loop.RateHz, dsp.Setting{"drrDB": 16 - 16*abs(size), "decayS": 0.7}))
		}},
		{"dynamics", func(c drills.Clip, size float64) ([]drills.Insert, error) {
			return onMix(compressorFor(c.Frames, c.Loop.RateHz, 2+8*abs(size), dsp.Setting{compRatio.ID: 4, compAttack.ID: 5, compRelease.ID: 120}))
		}},
	}
}

func abs(v float64) float64 { return max(v, -v) }

func onMix(p dsp.Processor, err error) ([]drills.Insert, error) {
	return []drills.Insert{{Processor: p}}, err
}

// voiceLevel turns every lead voice.
func voiceLevel(c drills.Clip, size float64) (inserts []drills.Insert, err error) {
	for i, s := range c.Stems {
		if s.Role != drills.LeadVocal && s.Role != drills.Speech || !c.Plays(i+1) {
			continue
		}
		p, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": 8 * size})
		if err != nil {
			return nil, err
		}
		inserts = append(inserts, drills.Insert{Stems: []int{i + 1}, Processor: p})
	}
	if len(inserts) == 0 {
		return nil, errNoVoice
	}
	return inserts, nil
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
		Level: dsp.Param{ID: "size", Name: "size of the difference", Unit: "of 1", Min: 0.15, Max: 0.9, Neutral: 0.7, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "five", Title: "one of five", Surface: drills.Cards},
		},
		Params:       []dsp.Param{attributeNumber, attributeSize},
		Fit:          drills.Fit{Mix: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			n := 1 + d.R.IntN(len(attributes()))
			s := dsp.Setting{attributeNumber.ID: float64(n), attributeSize.ID: either(d, d.Level, -d.Level)}
			_, err := attributes()[n-1].make(d.Clip, s.Get(attributeSize))
			return s, err
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

// attributeChoices are the truth and others that the material could show.
func attributeChoices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	n := map[string]int{"three": 3, "five": 5}[d.Rung.ID]
	truth := int(asked.Get(attributeNumber))
	keep := map[int]bool{truth: true}
	for _, i := range d.R.Perm(len(attributes())) {
		if _, err := attributes()[i].make(d.Clip, 0.1); err == nil && len(keep) < n {
			keep[i+1] = true
		}
	}
	if len(keep) < n {
		return nil, errors.New("too few attributes can be shown")
	}
	var choices []drills.Choice
	for i, a := range attributes() {
		if keep[i+1] {
			choices = append(choices, drills.Choice{Label: a.name, Guess: dsp.Setting{attributeNumber.ID: float64(i + 1)}})
		}
	}
	return choices, nil
}
