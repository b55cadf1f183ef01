package tools

import (
	"strop/drills"
	"strop/dsp"
	"strop/dsp/space"
)

var (
	roomDRR   = dsp.Param{ID: "drrDB", Name: "direct-to-reverberant ratio", Unit: "dB", Min: -24, Max: 96, Neutral: 96}
	roomDecay = dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.2, Max: 3, Neutral: 1.2, Scale: dsp.Log}
)

var stemAnswer = cards{params: []dsp.Param{stemNumber}, say: func(s dsp.Setting) string { return "that stem" }}

// reverbStem asks which stem of a mix was given reverberation.
//
// The ladder is how far the reverberation comes up to the direct sound: 0 dB
// for as loud as it. How little of it is heard depends on the stem: common
// practice, no source.
func reverbStem() drills.Tool {
	fit := drills.Fit{Stems: true, Among: true}
	return drills.Tool{
		ID: "reverb-stem", Title: "Reverb on which stem", Type: "space",
		Doc:    "Hear which stem of a mix was given reverberation.",
		Source: noPublished,
		Error:  wrong, Unit: "of 1",
		Level:  dsp.Param{ID: "reverbDB", Name: "reverberation to direct sound", Unit: "dB", Min: -18, Max: 3, Neutral: -3},
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "six", Title: "one of six", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, roomDRR, roomDecay},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{stemNumber.ID: float64(d.On), roomDRR.ID: -d.Level, roomDecay.ID: 1.2}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredStems(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, _ int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := space.Plate.New(c.Loop.RateHz, dsp.Setting{roomDRR.ID: s.Get(roomDRR), roomDecay.ID: s.Get(roomDecay)})
			return drills.OnStem(int(s.Get(stemNumber)), p), err
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem was given reverberation?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}
