package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/dsp/measure"
	"strop/dsp/stereo"
)

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
		hard: 2, easy: 5, start: 4.5, lo: 1.5, hi: 13,
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
