package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

var cornerHz = dsp.Param{ID: "freqHz", Name: "corner frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 20, Scale: dsp.Log}

var cornerAnswer = scale{
	param: cornerHz, key: errorOct, near: 1.0 / 3, apart: dsp.Octaves,
	say: dsp.FormatHz,
	off: over(dsp.OctavesInWords, "high", "low"),
}

// cut is one of the two drills of corners.
//
// The ladder is how far the middle one of three corners reaches into the range
// of hearing; the others lie a quarter of that to either side, from a third of
// an octave on.
type cut struct {
	id, title, doc, question string
	spec                     func() dsp.Spec
	endHz                    float64 // where the range that can be cut begins
	way                      float64 // octaves from it: 1 upwards, −1 downwards
}

// lowCut asks where a low cut of 12 dB an octave begins. No least difference
// was found.
func lowCut() drills.Tool {
	return cornerDrill(cut{
		id: "eq-lowcut", title: "Corner of a low cut", doc: "Hear where a low cut begins.", question: "Where does the low cut",
		spec: func() dsp.Spec { return eq.LowCut }, endHz: 40, way: 1,
	})
}

// highCut asks where a high cut of 12 dB an octave begins.
func highCut() drills.Tool {
	return cornerDrill(cut{
		id: "eq-highcut", title: "Corner of a high cut", doc: "Hear where a high cut begins.", question: "Where does the high cut",
		spec: func() dsp.Spec { return eq.HighCut }, endHz: 16000, way: -1,
	})
}

func cornerDrill(c cut) drills.Tool {
	return drills.Tool{
		ID: c.id, Title: c.title, Type: "EQ", Doc: c.doc, Source: noPublished, Confusable: []string{"eq-shape"},
		Error: errorOct, Unit: "oct",
		OwnLadder: true,
		Near:      func(reachOct float64) float64 { return apartOct(reachOct) / 2 },
		Level:     dsp.Param{ID: "reachOct", Name: "reach into the range of hearing", Unit: "oct", Min: 1, Max: 4, Neutral: 3.5},
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "free", Title: "any frequency", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{cornerHz},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask:          c.ask,
		Choices:      c.choices,
		Change:       c.change,
		Question:     func(d drills.Draw, _ dsp.Setting) string { return c.question + on(d) + " begin?" },
		Read:         cornerAnswer.Read, Grade: cornerAnswer.Grade, Tell: cornerAnswer.Tell,
		Region: bandRegion,
	}
}

// apartOct is from one corner to the next, in whole third octaves.
func apartOct(reachOct float64) float64 { return max(1, math.Round(reachOct*3/4)) / 3 }

// corners are the three answers of a level, at mid-band frequencies.
func (c cut) corners(reachOct float64) (hz [3]float64) {
	for i := range hz {
		oct := c.way*reachOct + apartOct(reachOct)*float64(i-1)
		hz[i] = dsp.ThirdOctaveHz(dsp.NearestThirdOctave(c.endHz * math.Exp2(oct)))
	}
	return hz
}

// ask draws one of the answers or, on the scale, any corner between the
// outermost and half an octave beyond, where there is enough to be cut.
func (c cut) ask(d drills.Draw) (dsp.Setting, error) {
	corners := c.corners(d.Level)
	hz := corners[d.R.IntN(len(corners))]
	if d.Rung.Surface == drills.Ruler {
		hz = between(d, cornerHz, corners[0]/math.Sqrt2, corners[2]*math.Sqrt2)
	}
	if err := carries(d, hz*math.Exp2(-0.5*c.way), 1); err != nil {
		return nil, errors.New("there is nothing to be cut")
	}
	return dsp.Setting{cornerHz.ID: hz}, nil
}

func (c cut) choices(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
	if d.Rung.Surface == drills.Ruler {
		return nil, nil
	}
	corners := c.corners(d.Level)
	return steps(cornerHz, nearNominal, corners[:]...), nil
}

// nearNominal is the printed name of the nearest mid-band.
func nearNominal(hz float64) string { return nominal(dsp.NearestThirdOctave(hz)) }

func (c cut) change(clip drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	p, err := c.spec().New(clip.Loop.RateHz, dsp.Setting{"freqHz": s.Get(cornerHz), "slopeDBOct": 12})
	return drills.OnStem(on, p), err
}
