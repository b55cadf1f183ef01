package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/saturation"
)

// distortionDB is what a saturator adds, under what it leaves: as measured.
var distortionDB = dsp.Param{ID: "distortionDB", Name: "distortion under the sound", Unit: "dB", Min: -80, Max: 0, Neutral: -80}

// saturators are the kinds that are told apart.
var saturators = []struct {
	name string
	spec func() dsp.Spec
}{
	{"soft saturation", func() dsp.Spec { return saturation.Tanh }},
	{"hard clipping", func() dsp.Spec { return saturation.HardClip }},
	{"asymmetric saturation", func() dsp.Spec { return saturation.Asymmetric }},
	{"tape", func() dsp.Spec { return saturation.Tape }},
}

var saturatorNumber = dsp.Param{ID: "kind", Name: "kind", Min: 1, Max: 16, Neutral: 1, Scale: dsp.Whole}

// saturated is the saturator that leaves so much distortion on what a trial is
// made on; none for nothing.
func saturated(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	p, err := driven(saturators[int(s.Get(saturatorNumber))-1].spec(), frames, c.Loop.RateHz, s.Get(distortionDB))
	return drills.OnStem(on, p), err
}

// driven is a saturator with the drive at which it leaves wantDB of
// distortion, within half a dB or as near as it gets. The loudest quarter of a
// second tells: the truth is measured of the whole.
func driven(spec dsp.Spec, frames []dsp.Frame, rateHz, wantDB float64) (dsp.Processor, error) {
	frames = loudestPart(frames, int(rateHz/4))
	lo, hi := -30.0, 40.0
	for range 7 {
		driveDB := (lo + hi) / 2
		p, err := spec.New(rateHz, dsp.Setting{"driveDB": driveDB})
		if err != nil {
			return nil, err
		}
		after := make([]dsp.Frame, len(frames))
		copy(after, frames)
		p.Process(after)
		got := residueDB(frames, after[dsp.DelayFrames(p):])
		if math.Abs(got-wantDB) < 0.5 {
			p.Reset()
			return p, nil
		}
		if got < wantDB {
			lo = driveDB
		} else {
			hi = driveDB
		}
	}
	return spec.New(rateHz, dsp.Setting{"driveDB": (lo + hi) / 2})
}

// loudestPart is the n frames with the most power.
func loudestPart(frames []dsp.Frame, n int) []dsp.Frame {
	best, at := -1.0, 0
	for from := 0; from+n <= len(frames); from += n / 2 {
		p := 0.0
		for _, f := range frames[from : from+n] {
			p += f[0]*f[0] + f[1]*f[1]
		}
		if p > best {
			best, at = p, from
		}
	}
	return frames[at:min(at+n, len(frames))]
}

// residueDB is what of after is no multiple of before, under that multiple:
// 10·log10((1 − r²)/r²) with r their correlation.
func residueDB(before, after []dsp.Frame) float64 {
	var xx, yy, xy float64
	for i, y := range after {
		x := before[i]
		xx += x[0]*x[0] + x[1]*x[1]
		yy += y[0]*y[0] + y[1]*y[1]
		xy += x[0]*y[0] + x[1]*y[1]
	}
	if xx == 0 || yy == 0 {
		return distortionDB.Min
	}
	r2 := xy * xy / (xx * yy)
	return max(dsp.PowerToDB((1-r2)/r2+1e-9), distortionDB.Min)
}

// measureDistortion is what came out.
func measureDistortion(m drills.Made) (dsp.Setting, error) {
	db := residueDB(m.Before, m.After)
	if db <= distortionDB.Min+10 {
		return nil, errors.New("it takes no distortion")
	}
	return m.Setting.With(distortionDB.ID, min(db, distortionDB.Max)), nil
}

// distortionLadder runs from plain to where a saturator just begins to change
// the excitation on most material. Distortion of music is said to be heard from
// 0.5 to 3 %, −46 to −30 dB, of low order: common practice, no source.
var distortionLadder = dsp.Param{ID: "distortionDB", Name: "distortion under the sound", Unit: "dB", Min: -16, Max: -7, Neutral: -10}

var distortionAnswer = scale{
	param: distortionDB, key: "errorDB", near: 3,
	say: decibels, off: over(decibels, "too much", "too little"),
}

// saturationAmount asks how much soft saturation there is: the truth is measured.
//
// The ladder is how far three answers lie apart. No least difference was found.
func saturationAmount() drills.Tool {
	return drills.Tool{
		ID: "sat-amount", Title: "Amount of saturation", Type: "saturation",
		Doc:    "Hear how much a soft saturator adds.",
		Source: noPublished, Confusable: []string{"sat-kind"},
		Error: distortionAnswer.key, Unit: "dB",
		Level: dsp.Param{ID: "apartDB", Name: "from answer to answer", Unit: "dB", Min: 1.5, Max: 6, Neutral: 5},
		Rungs: []drills.Rung{
			{ID: "three", Title: "little, some, much", Surface: drills.Cards},
			{ID: "free", Title: "in dB under the sound", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{distortionDB, saturatorNumber},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		OwnLadder:    true,
		Near:         func(apartDB float64) float64 { return apartDB / 2 },
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := dsp.Setting{saturatorNumber.ID: 1}
			amounts := distortions(d.Level)
			s[distortionDB.ID] = amounts[d.R.IntN(len(amounts))]
			if d.Rung.Surface == drills.Ruler {
				s[distortionDB.ID] = between(d, distortionDB, leastDistortionDB, mostDistortionDB)
			}
			return s, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(distortionDB, decibels, distortions(d.Level)...), nil
		},
		Change: saturated, Measure: measureDistortion,
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "How far under the sound is the distortion" + on(d) + "?"
		},
		Read: distortionAnswer.Read, Grade: distortionAnswer.Grade, Tell: distortionAnswer.Tell,
		Region: anywhere,
	}
}

// What is asked lies between these: with less nothing changes by the meter of
// audibility on most material, and with more little of the sound is left.
const (
	leastDistortionDB = -20.0
	mostDistortionDB  = -5.0
)

// distortions are three amounts so far apart.
func distortions(apartDB float64) []float64 { return []float64{-11 - apartDB, -11, -11 + apartDB} }
