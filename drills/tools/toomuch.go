package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/dsp/measure"
	"strop/dsp/stereo"
)

// tooMuch is a drill of yes or no about a processor that goes too far: it is
// there on some trials, so strong as the ladder says, and not on the others.
type tooMuch struct {
	id, title, kind, doc, source string
	name, question               string // "the gate closes too early", "Does the gate close too early"
	size                         dsp.Param
	fit                          drills.Fit
	brief                        bool
	confusable                   string
	build                        func(c drills.Clip, on int, size float64) (dsp.Processor, error)
}

// halfNothing is how often there is nothing where the answer is yes or no.
const halfNothing = 0.5

func (m tooMuch) tool() drills.Tool {
	answer := cards{params: []dsp.Param{m.size}, say: func(s dsp.Setting) string {
		return m.name + ", " + m.size.Name + " " + unit(decimalsFor(m.size), m.size.Unit)(s.Get(m.size))
	}}
	return drills.Tool{
		ID: m.id, Title: m.title, Type: m.kind, Doc: m.doc, Source: m.source, Confusable: []string{m.confusable},
		Error: wrong, Unit: "of 1", Level: m.size, Brief: m.brief,
		Rungs:        []drills.Rung{{ID: "there", Title: "yes or no", Surface: drills.Cards}},
		Params:       []dsp.Param{m.size},
		Fit:          m.fit,
		NothingShare: halfNothing,
		Ask:          func(d drills.Draw) (dsp.Setting, error) { return dsp.Setting{m.size.ID: d.Level}, nil },
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return []drills.Choice{{Label: m.name, Guess: dsp.Setting{m.size.ID: d.Level}}}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := m.build(c, on, s.Get(m.size))
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return m.question + on(d) + "?" },
		Read:     answer.Read, Grade: answer.Grade, Tell: answer.Tell,
		Region: anywhere,
	}
}

// compressedDrill asks whether there is compression at all, at equal loudness.
func compressedDrill() drills.Tool {
	return tooMuch{
		id: "comp-there", title: "Compressed or not", kind: "dynamics", doc: "Hear whether a sound is compressed, at equal loudness.",
		source: "from 3 dB on average; small amounts are told apart only where loudness is not matched: N. B. H. Croghan et al., JASA 132 (2012)",
		name:   "compressed", question: "Is there compression", confusable: "comp-reduction",
		size: reductionLadder, fit: onDynamics,
		build: func(c drills.Clip, on int, size float64) (dsp.Processor, error) {
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			return compressorFor(frames, c.Loop.RateHz, size, usualCompressor)
		},
	}.tool()
}

// gateDrill asks whether a gate cuts tails off. The size is how far under the
// loud level it closes: the nearer, the more of the tail is lost.
func gateDrill() drills.Tool {
	return tooMuch{
		id: "gate-early", title: "Gate closing too early", kind: "dynamics", doc: "Hear whether a gate cuts the tails of notes off.",
		source: stepsSource, name: "the gate closes too early", question: "Does a gate close too early", confusable: "comp-release", brief: true,
		size: dsp.Param{ID: "openDB", Name: "threshold over the peak less 40 dB", Unit: "dB", Min: 8, Max: 30, Neutral: 24},
		fit:  drills.Fit{Stems: true, Roles: append([]drills.Role{drills.Bass, drills.Guitar, drills.LeadVocal, drills.Speech, drills.Keys}, strokes...), LeastOnsetsPerS: 0.5},
		build: func(c drills.Clip, on int, size float64) (dsp.Processor, error) {
			return dynamics.Gate.New(c.Loop.RateHz, dsp.Setting{
				"thresholdDB": limited(c.On(on).TruePeakDBTP-40+size, -80, 0), "rangeDB": 60, "holdMS": 20, "releaseMS": 40, "attackMS": 0.5,
			})
		},
	}.tool()
}

// deEssDrill asks whether a voice lisps because it was de-essed too much.
func deEssDrill() drills.Tool {
	return tooMuch{
		id: "deess-much", title: "De-essed too much", kind: "dynamics", doc: "Hear whether a voice lisps because its sibilants were taken down too far.",
		source: stepsSource, name: "de-essed too much", question: "Was too much de-essed", confusable: "sibilance", brief: true,
		size: dsp.Param{ID: "rangeDB", Name: "sibilants down by", Unit: "dB", Min: 4, Max: 20, Neutral: 15, Scale: dsp.Log},
		fit:  onVoices,
		build: func(c drills.Clip, on int, size float64) (dsp.Processor, error) {
			return dynamics.DeEsser.New(c.Loop.RateHz, dsp.Setting{"thresholdDB": -60, "ratio": 10, "rangeDB": size, "freqHz": 4000})
		},
	}.tool()
}

// limiterDrill asks whether a limiter is driven so far that it distorts.
func limiterDrill() drills.Tool {
	return tooMuch{
		id: "limiter-distortion", title: "Limiter distortion", kind: "dynamics", doc: "Hear whether a limiter is driven so far that it distorts.",
		source: stepsSource, name: "a limiter driven too far", question: "Is a limiter driven too far", confusable: "comp-over",
		size: dsp.Param{ID: "driveDB", Name: "peaks taken down by", Unit: "dB", Min: 4, Max: 20, Neutral: 14, Scale: dsp.Log},
		fit:  drills.Fit{Mix: true, Stems: true},
		build: func(c drills.Clip, on int, size float64) (dsp.Processor, error) {
			return limitedBy(c, on, size, 10)
		},
	}.tool()
}

// limitedBy brings the peaks of what a trial is made on down by sizeDB.
func limitedBy(c drills.Clip, on int, sizeDB, releaseMS float64) (dsp.Processor, error) {
	gainDB := sizeDB - 1 - c.On(on).TruePeakDBTP
	up, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": limited(gainDB, -96, 24)})
	if err != nil {
		return nil, err
	}
	limiter, err := dynamics.Limiter.New(c.Loop.RateHz, dsp.Setting{"ceilingDBTP": -1, "releaseMS": releaseMS})
	if err != nil {
		return nil, err
	}
	down, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": limited(-gainDB, -96, 24)})
	return dsp.Chain{up, limiter, down}, err
}

// crestLost is how much the peaks came nearer to the loudness, as measured.
var crestLost = dsp.Param{ID: "crestDB", Name: "peak to loudness, lost", Unit: "dB", Min: 0, Max: 24, Neutral: 0}

// overDrill asks how much of its dynamics a mix has lost. The truth is
// measured: the loss of true peak over loudness.
func overDrill() drills.Tool {
	return settingDrill{
		id: "comp-over", title: "Dynamics lost", kind: "dynamics", doc: "Hear how much of its peaks a mix has lost over its loudness.",
		source: stepsSource, question: "How many dB of peak over loudness are lost",
		param: crestLost, say: decibels, more: "too much", less: "too little", key: "errorDB", near: 1.5,
		centre: 7, hard: 2, easy: 5, start: 4.5, lo: 1.5, hi: 13,
		fit: drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.5}, confusable: "limiter-distortion",
		build: func(c drills.Clip, on int, v float64) (dsp.Processor, error) { return limitedBy(c, on, v, 60) },
		measure: func(m drills.Made, _ float64) (float64, error) {
			crest := func(f []dsp.Frame) float64 {
				return measure.TruePeakDBTP(f, m.RateHz) - measure.IntegratedLUFS(f, m.RateHz)
			}
			return math.Max(0, crest(m.Before)-crest(m.After)), nil
		},
	}.tool()
}

// pumpNumber is whether the gain moves with the beat: 1 steady, 2 pumping.
var pumpNumber = dsp.Param{ID: "pump", Name: "gain", Min: 1, Max: 2, Neutral: 1, Scale: dsp.Whole}

var pumpAnswer = cards{params: []dsp.Param{pumpNumber}, say: func(s dsp.Setting) string {
	if s.Get(pumpNumber) == 2 {
		return "pumping"
	}
	return "steady"
}}

// pumpDrill asks whether a compression pumps or works steadily, both taking as
// much away on average.
func pumpDrill() drills.Tool {
	return drills.Tool{
		ID: "comp-pump", Title: "Pumping", Type: "dynamics",
		Doc:    "Hear whether a compressor pumps with the beat or works steadily.",
		Source: stepsSource, Confusable: []string{"comp-release"},
		Error: wrong, Unit: "of 1", Level: reductionLadder,
		Rungs: []drills.Rung{{ID: "two", Title: "pumping or steady", Surface: drills.Cards, Choices: []drills.Choice{
			{Label: "steady", Guess: dsp.Setting{pumpNumber.ID: 1}}, {Label: "pumping", Guess: dsp.Setting{pumpNumber.ID: 2}},
		}}},
		Params: []dsp.Param{pumpNumber, meanReduction},
		Fit:    drills.Fit{Mix: true, LeastOnsetsPerS: 0},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{pumpNumber.ID: float64(1 + d.R.IntN(2)), meanReduction.ID: d.Level}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			frames, err := c.Target(on)
			if err != nil {
				return nil, err
			}
			set := dsp.Setting{compRatio.ID: 2, compAttack.ID: 40, compRelease.ID: 900, "sidechainHz": 200}
			if s.Get(pumpNumber) == 2 {
				set = dsp.Setting{compRatio.ID: 12, compAttack.ID: 1, compRelease.ID: 160}
			}
			p, err := compressorFor(frames, c.Loop.RateHz, s.Get(meanReduction), set)
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "Does the compressor pump, or does it work steadily?"
		},
		Read: pumpAnswer.Read, Grade: pumpAnswer.Grade, Tell: pumpAnswer.Tell,
		Region: func(truth dsp.Setting) string { return pumpAnswer.say(truth) },
	}
}
