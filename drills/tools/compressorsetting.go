package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// How far compressors are driven whose settings are asked: on average, in dB.
const drivenDB = 6.0

// onDynamics is what compression shows on: not what holds its level anyway.
var onDynamics = drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.5}

// compressorWith builds a compressor that takes drivenDB away on average, with
// one setting given.
func compressorWith(set dsp.Setting) func(id string) func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
	return func(id string) func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
		return func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			return compressorFor(frames, c.Loop.RateHz, drivenDB, set.With(id, v))
		}
	}
}

var usualCompressor = dsp.Setting{compRatio.ID: 4, compAttack.ID: 5, compRelease.ID: 120}

const stepsSource = "common practice, no source"

// ratioDrill asks for a compressor's ratio, at one average reduction.
func ratioDrill() drills.Tool {
	return settingDrill{
		id: "comp-ratio", title: "Ratio", kind: "dynamics", doc: "Hear the ratio of a compressor, at one average reduction.",
		source: "no least difference was published; steps of 2: common practice, no source", question: "What is the ratio",
		param: dsp.Param{ID: "ratio", Name: "ratio", Unit: ":1", Min: 1.1, Max: 20, Neutral: 4, Scale: dsp.Log},
		say:   ratioText, more: "too high", less: "too low", near: 0.6,
		hard: 2, easy: 4, start: 3.2, lo: 1.5, hi: 12,
		fit: onDynamics, confusable: "comp-knee", build: compressorWith(usualCompressor)("ratio"),
	}.tool()
}

func ratioText(v float64) string { return unit(1, "")(v) + ":1" }

// attackDrill asks for a compressor's attack.
func attackDrill() drills.Tool {
	return settingDrill{
		id: "comp-attack", title: "Attack", kind: "dynamics", doc: "Hear how fast a compressor takes hold.",
		source:   "attack changes what is heard, release hardly: W. M. Wagenaars, A. J. Houtsma & R. A. van Lieshout (1986); steps of 3: common practice, no source",
		question: "How long is the attack",
		param:    dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.1, Max: 200, Neutral: 10, Scale: dsp.Log},
		say:      milliseconds, more: "too long", less: "too short", near: 1,
		brief: true, hard: 2, easy: 12, start: 8, lo: 0.5, hi: 60,
		fit: onDynamics, confusable: "comp-release", build: compressorWith(usualCompressor)("attackMS"),
	}.tool()
}

func milliseconds(v float64) string {
	if v < 10 {
		return unit(1, "ms")(v)
	}
	return unit(0, "ms")(v)
}

// releaseDrill asks for a compressor's release.
func releaseDrill() drills.Tool {
	return settingDrill{
		id: "comp-release", title: "Release", kind: "dynamics",
		doc:      "Hear how fast a compressor lets go; it changes less of what is heard than the attack.",
		source:   "release is hardly heard: W. M. Wagenaars, A. J. Houtsma & R. A. van Lieshout (1986); steps of 3: common practice, no source",
		question: "How long is the release",
		param:    dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 2000, Neutral: 120, Scale: dsp.Log},
		say:      milliseconds, more: "too long", less: "too short", near: 1,
		hard: 2.5, easy: 10, start: 7, lo: 30, hi: 1000,
		fit: onDynamics, confusable: "comp-attack", build: compressorWith(usualCompressor)("releaseMS"),
	}.tool()
}

// kneeDrill asks for the width of a compressor's knee, at 3 dB of reduction on
// average and a ratio of 20: most of the sound then lies around the threshold,
// where a knee makes a difference.
func kneeDrill() drills.Tool {
	return settingDrill{
		id: "comp-knee", title: "Knee", kind: "dynamics", doc: "Hear whether a compressor bends gently or has a corner.",
		source: stepsSource, question: "How wide is the knee",
		param: dsp.Param{ID: "kneeDB", Name: "knee", Unit: "dB", Min: 0, Max: 24, Neutral: 6},
		say:   decibels, more: "too wide", less: "too narrow", key: "errorDB", near: 5,
		hard: 8, easy: 24, start: 20, lo: 0, hi: 24, brief: true,
		fit: onDynamics, confusable: "comp-ratio",
		build: func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			return compressorFor(frames, c.Loop.RateHz, 3, dsp.Setting{compRatio.ID: 20, compAttack.ID: 1, compRelease.ID: 60, "kneeDB": v})
		},
	}.tool()
}

// parallelDrill asks how much of a hard compression is mixed in.
func parallelDrill() drills.Tool {
	return settingDrill{
		id: "comp-parallel", title: "Parallel amount", kind: "dynamics", doc: "Hear how much of a hard compression is mixed with the sound as it was.",
		source: stepsSource, question: "How much of the compressed sound is mixed in",
		param: dsp.Param{ID: "mixPct", Name: "compressed share", Unit: "%", Min: 0, Max: 100, Neutral: 50},
		say:   unit(0, "%"), more: "too much", less: "too little", key: "errorPct", near: 15,
		hard: 20, easy: 45, start: 40, lo: 10, hi: 100,
		fit: onDynamics, confusable: "comp-reduction",
		build: func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			return compressorFor(frames, c.Loop.RateHz, 12, dsp.Setting{compRatio.ID: 10, compAttack.ID: 1, compRelease.ID: 80, "mixPct": v})
		},
	}.tool()
}

// character is one of the four kinds of compressor.
var characterNumber = dsp.Param{ID: "character", Name: "character", Min: 1, Max: 4, Neutral: 1, Scale: dsp.Whole}

var characters = []struct {
	name string
	spec func() dsp.Spec
}{
	{"VCA", func() dsp.Spec { return dynamics.VCA }},
	{"optical", func() dsp.Spec { return dynamics.Optical }},
	{"FET", func() dsp.Spec { return dynamics.FET }},
	{"variable mu", func() dsp.Spec { return dynamics.VariMu }},
}

var characterAnswer = cards{params: []dsp.Param{characterNumber}, say: func(s dsp.Setting) string { return characters[int(s.Get(characterNumber))-1].name }}

// characterDrill asks which of the four kinds of compressor works, all taking
// as much away on average.
func characterDrill() drills.Tool {
	var choices []drills.Choice
	for i, c := range characters {
		choices = append(choices, drills.Choice{Label: c.name, Guess: dsp.Setting{characterNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "comp-character", Title: "Character", Type: "dynamics",
		Doc:    "Tell four kinds of compressor apart, at one average reduction.",
		Source: stepsSource, Confusable: []string{"comp-attack"},
		Error: wrong, Unit: "of 1", Level: anyReduction,
		Rungs: []drills.Rung{
			{ID: "two", Title: "optical or FET", Surface: drills.Cards, Choices: choices[1:3]},
			{ID: "four", Title: "one of four", Surface: drills.Cards, Choices: choices},
		},
		Params: []dsp.Param{characterNumber, meanReduction},
		Fit:    onDynamics,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))].Guess.With(meanReduction.ID, d.Level), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			p, err := reducing(characters[int(s.Get(characterNumber))-1].spec(), frames, c.Loop.RateHz, s.Get(meanReduction), dsp.Setting{compRatio.ID: 6})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Which compressor works" + on(d) + "?" },
		Read:     characterAnswer.Read, Grade: characterAnswer.Grade, Tell: characterAnswer.Tell,
		Region: func(truth dsp.Setting) string { return characterAnswer.say(truth) },
	}
}

// anyReduction is an average reduction down to where it is just heard that
// there is one.
var anyReduction = dsp.Param{ID: "reductionDB", Name: "average gain reduction", Unit: "dB", Min: 1, Max: 12, Neutral: 8, Scale: dsp.Log}

// reductionLadder is an average reduction.
var reductionLadder = dsp.Param{ID: "reductionDB", Name: "average gain reduction", Unit: "dB", Min: 2, Max: 12, Neutral: 8, Scale: dsp.Log}
