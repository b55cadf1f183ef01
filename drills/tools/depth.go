package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
	"strop/dsp/space"
)

// depthDRR is how near a source stands in its room.
var depthDRR = dsp.Param{ID: "drrDB", Name: "direct-to-reverberant ratio", Unit: "dB", Min: -12, Max: 24, Neutral: 24}

var depthAnswer = scale{
	param: depthDRR, key: "errorDB", near: 3,
	say: func(v float64) string { return unit(1, "dB direct to reverberant")(v) },
	off: over(decibels, "too near", "too far"),
}

// depth asks how far back a stem was put: into a room of half a second, the
// treble going with the distance. Its loudness stays. The truth is the ratio of
// direct to reverberant sound as measured of the room.
//
// The ladder is how far apart the answers lie. A change of 2 to 3 dB of that
// ratio is just noticed around 0 to 10 dB: E. Larsen et al., JASA 124 (2008).
func depth() drills.Tool {
	return drills.Tool{
		ID: "depth", Title: "Near or far", Type: "position",
		Doc:        "Hear how far back a stem stands, at equal loudness.",
		Source:     "least difference of the direct-to-reverberant ratio, 2 to 3 dB: E. Larsen et al., JASA 124 (2008)",
		Confusable: []string{"reverb-stem"},
		Error:      depthAnswer.key, Unit: "dB",
		Level:     dsp.Param{ID: "apartDB", Name: "from answer to answer", Unit: "dB", Min: 3, Max: 9, Neutral: 7, Scale: dsp.Log},
		OwnLadder: true, Floor: drills.AtThreshold,
		Near: func(apartDB float64) float64 { return apartDB / 2 },
		Rungs: []drills.Rung{
			{ID: "three", Title: "near, middle, far", Surface: drills.Cards},
			{ID: "free", Title: "in dB, direct to reverberant", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{depthDRR},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			if d.Rung.Surface == drills.Ruler {
				return dsp.Setting{depthDRR.ID: between(d, depthDRR, -8, 12)}, nil
			}
			return dsp.Setting{depthDRR.ID: depths(d.Level)[d.R.IntN(3)]}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			near := depths(d.Level)
			return []drills.Choice{
				{Label: "near", Guess: dsp.Setting{depthDRR.ID: near[0]}},
				{Label: "middle", Guess: dsp.Setting{depthDRR.ID: near[1]}},
				{Label: "far", Guess: dsp.Setting{depthDRR.ID: near[2]}},
			}, nil
		},
		Change:   changeDepth,
		Measure:  measureDepth,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "How far back was " + it(d) + " put?" },
		Read:     depthAnswer.Read, Grade: depthAnswer.Grade, Tell: depthAnswer.Tell,
		Region: anywhere,
	}
}

// depths are near, middle and far, around 2 dB.
func depths(apartDB float64) [3]float64 { return [3]float64{2 + apartDB, 2, 2 - apartDB} }

// What a distance does, beside the room: common practice, no source.
const (
	depthDecayS  = 0.5
	depthShelfHz = 6000
	shelfPerDB   = 0.2 // dB of treble for 1 dB of the ratio, from depthDRR.Max on
)

func changeDepth(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	drrDB := s.Get(depthDRR)
	treble, err := eq.HighShelf.New(c.Loop.RateHz, dsp.Setting{"freqHz": depthShelfHz, "gainDB": -shelfPerDB * (depthDRR.Max - drrDB)})
	if err != nil {
		return nil, err
	}
	room, err := space.Room.New(c.Loop.RateHz, dsp.Setting{"drrDB": 0, "decayS": depthDecayS})
	if err != nil {
		return nil, err
	}
	return drills.OnStem(on, dsp.Chain{blend(room, dsp.FromDB(-drrDB)), treble}), nil
}

// measureDepth reads the ratio of a click that goes through the room, of both
// outputs together.
func measureDepth(m drills.Made) (dsp.Setting, error) {
	room := m.Inserts[0].Processor.(dsp.Chain)[0]
	click := make([]dsp.Frame, int(m.RateHz))
	click[0] = dsp.Frame{1, 0}
	room.Reset()
	room.Process(click)
	h := make([]float64, len(click))
	for i, f := range click {
		h[i] = math.Hypot(f[0], f[1])
	}
	return m.Setting.With(depthDRR.ID, limited(measure.DirectRatioDB(h, m.RateHz), depthDRR.Min, depthDRR.Max)), nil
}
