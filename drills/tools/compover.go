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

// losing brings the peaks of what a trial is made on down until it has lost so
// much of peak over loudness: by as much more as it becomes softer by that.
func losing(c drills.Clip, on int, lostDB float64) (dsp.Processor, error) {
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	frames = loudestPart(frames, len(frames)/2) // which tells: the truth is measured of the whole
	after, wasLUFS, sizeDB := make([]dsp.Frame, len(frames)), measure.IntegratedLUFS(frames, c.Loop.RateHz), lostDB
	for range maxLosing {
		p, err := limitedBy(c, on, sizeDB, 60)
		if err != nil {
			return nil, err
		}
		copy(after, frames)
		p.Process(after)
		softer := wasLUFS - measure.IntegratedLUFS(after, c.Loop.RateHz)
		if math.IsNaN(softer) || math.IsInf(softer, 0) || math.Abs(sizeDB-softer-lostDB) < 0.2 {
			break
		}
		sizeDB = min(lostDB+softer, 36)
	}
	return limitedBy(c, on, sizeDB, 60)
}

const maxLosing = 3

// crestLost is how much the peaks came nearer to the loudness, as measured.
var crestLost = dsp.Param{ID: "crestDB", Name: "peak to loudness, lost", Unit: "dB", Min: 0, Max: 24, Neutral: 0}

// overDrill asks how much of its dynamics a mix has lost. The truth is
// measured: the loss of true peak over loudness.
func overDrill() drills.Tool {
	return settingDrill{
		id: "comp-over", title: "Dynamics lost", kind: "dynamics", doc: "Hear how much of its peaks a mix has lost over its loudness.",
		source: stepsSource, question: "How many dB of peak over loudness are lost",
		param: crestLost, say: decibels, more: "too much", less: "too little", key: "errorDB", near: 1.5,
		brief: true, hard: 1.5, easy: 5, start: 4.5, lo: 1.5, hi: 13,
		fit: drills.Fit{Mix: true}, confusable: "limiter-distortion",
		build: losing,
		measure: func(m drills.Made, _ float64) (float64, error) {
			crest := func(f []dsp.Frame) float64 {
				return measure.TruePeakDBTP(f, m.RateHz) - measure.IntegratedLUFS(f, m.RateHz)
			}
			return math.Max(0, crest(m.Before)-crest(m.After)), nil
		},
	}.tool()
}
