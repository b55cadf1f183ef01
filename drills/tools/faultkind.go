package tools

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
)

var (
	faultNumber = dsp.Param{ID: "fault", Name: "fault", Min: 1, Max: 64, Neutral: 1, Scale: dsp.Whole}
	faultPlace  = dsp.Param{ID: "place", Name: "place between just there and plain", Min: 0, Max: 1, Neutral: 0.5}
	faultLadder = dsp.Param{ID: "place", Name: "place between just there and plain", Unit: "of 1", Min: 0, Max: 1, Neutral: 0.8}
)

// buildFault makes the fault that a setting of faultNumber, faultPlace and
// faultSeed means.
func buildFault(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	all := sourceFaults()
	n := int(s.Get(faultNumber))
	if n > len(all) {
		return nil, errors.New("this fault is of a newer strop")
	}
	f := all[n-1]
	return f.build(c, on, f.size.At(s.Get(faultPlace)), s.Get(faultSeed))
}

// possibleFaults are the numbers of those that can befall what a trial is made
// on.
func possibleFaults(d drills.Draw) (numbers []int) {
	for i, f := range sourceFaults() {
		if on, err := f.where().Targets(d.Clip); err == nil && (slices.Contains(on, d.On) || d.On == 0) {
			numbers = append(numbers, i+1)
		}
	}
	return numbers
}

// tellingFaults are those of them by which the stem is told in the mix.
func tellingFaults(d drills.Draw) []int {
	all := sourceFaults()
	return slices.DeleteFunc(possibleFaults(d), func(n int) bool { return all[n-1].added })
}

func faultName(s dsp.Setting) string { return sourceFaults()[int(s.Get(faultNumber))-1].name }

var kindAnswer = cards{params: []dsp.Param{faultNumber}, say: faultName}

// faultKind asks which fault a recording has.
func faultKind() drills.Tool {
	return drills.Tool{
		ID: "fault-kind", Title: "Which fault", Type: "source",
		Doc:    "Hear what is wrong with a recording.",
		Source: noPublished, Confusable: []string{"fault-stem"},
		Error: wrong, Unit: "of 1", Level: faultLadder, Brief: true,
		Rungs:        []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Cards}, {ID: "five", Title: "one of five", Surface: drills.Cards}},
		Params:       []dsp.Param{faultNumber, faultPlace, faultSeed},
		Fit:          onAnything,
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			possible := possibleFaults(d)
			return dsp.Setting{
				faultNumber.ID: float64(possible[d.R.IntN(len(possible))]),
				faultPlace.ID:  d.Level, faultSeed.ID: float64(d.R.IntN(int(faultSeed.Max))),
			}, nil
		},
		Choices:  kindChoices,
		Change:   buildFault,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "What is wrong" + with(d) + "?" },
		Read:     kindAnswer.Read, Grade: kindAnswer.Grade, Tell: kindAnswer.Tell,
		Region: func(truth dsp.Setting) string {
			if len(truth) == 0 {
				return "nothing"
			}
			return faultName(truth)
		},
	}
}

// with is " with Snare top", or " with the mix".
func with(d drills.Draw) string { return " with " + d.Where() }

// kindChoices are the truth and others that might have been, in the order of
// the table.
func kindChoices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	n := map[string]int{"three": 3, "five": 5}[d.Rung.ID]
	truth := int(asked.Get(faultNumber))
	numbers := []int{truth}
	for _, k := range shuffled(d, possibleFaults(d)) {
		if k != truth && len(numbers) < n {
			numbers = append(numbers, k)
		}
	}
	if len(numbers) < n {
		return nil, errors.New("too few faults are possible on this stem")
	}
	slices.Sort(numbers)
	var choices []drills.Choice
	for _, k := range numbers {
		choices = append(choices, drills.Choice{Label: sourceFaults()[k-1].name, Guess: dsp.Setting{faultNumber.ID: float64(k)}})
	}
	return choices, nil
}

// faultStem asks which stem of a mix has a fault.
func faultStem() drills.Tool {
	fit := drills.Fit{Stems: true, Among: true}
	return drills.Tool{
		ID: "fault-stem", Title: "Fault on which stem", Type: "source",
		Doc:    "Hear which stem of a mix has something wrong with it.",
		Source: noPublished, Confusable: []string{"fault-kind"},
		Error: wrong, Unit: "of 1", Level: faultLadder, Brief: true,
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "six", Title: "one of six", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, faultNumber, faultPlace, faultSeed},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			possible := tellingFaults(d)
			if len(possible) == 0 {
				return nil, errors.New("no fault would tell its stem")
			}
			return dsp.Setting{
				stemNumber.ID: float64(d.On), faultNumber.ID: float64(possible[d.R.IntN(len(possible))]),
				faultPlace.ID: d.Level, faultSeed.ID: float64(d.R.IntN(int(faultSeed.Max))),
			}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredStems(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) > 0 {
				on = int(s.Get(stemNumber))
			}
			return buildFault(c, on, s)
		},
		Question: func(_ drills.Draw, asked dsp.Setting) string { return "Which stem has something wrong with it?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}

// severity is one of three answers to how bad a fault is, by where it lies
// between just there and plain. What a fault is worth is the engineer's to
// judge: these are common practice, no source.
type severity struct {
	label string
	place float64
}

var severities = []severity{{"just there: leave it", 0.2}, {"mend it", 0.6}, {"ask for another take", 1}}

// at is where the severity lies where all three are drawn together to a share
// of their distance.
func (v severity) at(spread float64) float64 { return 0.6 + (v.place-0.6)*spread }

// faultSize asks how bad a fault is. The ladder is how far apart the three
// answers lie.
func faultSize() drills.Tool {
	answer := scale{
		param: faultPlace, key: "errorOfPlace", say: unit(2, "of the range"),
		off: over(unit(2, "of the range"), "too bad", "too good"),
	}
	return drills.Tool{
		ID: "fault-size", Title: "How bad is a fault", Type: "source",
		Doc:    "Judge whether a fault can stay, can be mended, or asks for another take.",
		Source: noPublished, Confusable: []string{"fault-kind"},
		Error: answer.key, Unit: "of 1", Brief: true, OwnLadder: true,
		Level:  dsp.Param{ID: "spread", Name: "spread of the sizes", Unit: "of 1", Min: 0.15, Max: 1, Neutral: 0.9},
		Rungs:  []drills.Rung{{ID: "three", Title: "leave it, mend it, another take", Surface: drills.Cards}},
		Params: []dsp.Param{faultPlace, faultNumber, faultSeed},
		Fit:    onAnything,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			possible := possibleFaults(d)
			return dsp.Setting{
				faultPlace.ID:  severities[d.R.IntN(len(severities))].at(d.Level),
				faultNumber.ID: float64(possible[d.R.IntN(len(possible))]), faultSeed.ID: float64(d.R.IntN(int(faultSeed.Max))),
			}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) (choices []drills.Choice, err error) {
			for _, v := range severities {
				choices = append(choices, drills.Choice{Label: v.label, Guess: dsp.Setting{faultPlace.ID: v.at(d.Level)}})
			}
			return choices, nil
		},
		Change: buildFault,
		Question: func(d drills.Draw, asked dsp.Setting) string {
			return "How bad is the " + faultName(asked) + on(d) + "?"
		},
		Read: answer.Read, Grade: answer.Grade, Tell: tellSeverity,
		Region: anywhere,
	}
}

// tellSeverity names the answers, and how strong the fault was in its own
// unit.
func tellSeverity(rung drills.Rung, truth, guess dsp.Setting) string {
	label := func(s dsp.Setting) string {
		for _, c := range rung.Choices {
			if math.Abs(c.Guess.Get(faultPlace)-s.Get(faultPlace)) < 1e-9 {
				return c.Label
			}
		}
		return unit(2, "of the range")(s.Get(faultPlace))
	}
	if text, told := tellNothing(truth, guess, label); told {
		return text
	}
	f := sourceFaults()[int(truth.Get(faultNumber))-1]
	size := f.say(f.size.At(truth.Get(faultPlace)))
	return fmt.Sprintf("It was %s, %s %s; you said %s.", label(truth), f.size.Name, size, label(guess))
}
