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
// distortion, within half a dB or as near as it gets. Half a second tells.
func driven(spec dsp.Spec, frames []dsp.Frame, rateHz, wantDB float64) (dsp.Processor, error) {
	frames = loudestPart(frames, int(rateHz/2))
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

// distortionLadder runs from plain to what is just heard on music, 0.5 to 3 %
// of low order. Common practice, no source.
var distortionLadder = dsp.Param{ID: "distortionDB", Name: "distortion under the sound", Unit: "dB", Min: -22, Max: -8, Neutral: -12}

var distortionAnswer = scale{
	param: distortionDB, key: "errorDB", near: 4,
	say: decibels, off: over(decibels, "too much", "too little"),
}

// saturationAmount asks how much soft saturation there is.
func saturationAmount() drills.Tool {
	return drills.Tool{
		ID: "sat-amount", Title: "Amount of saturation", Type: "saturation",
		Doc:    "Hear how much a soft saturator adds.",
		Source: noPublished, Confusable: []string{"sat-kind"},
		Error: distortionAnswer.key, Unit: "dB", Level: distortionLadder,
		Rungs: []drills.Rung{
			{ID: "three", Title: "little, some, much", Surface: drills.Cards},
			{ID: "free", Title: "in dB under the sound", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{distortionDB, saturatorNumber},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		OwnLadder:    true,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			s := dsp.Setting{distortionDB.ID: d.Level, saturatorNumber.ID: 1}
			if d.Rung.Surface == drills.Cards {
				s[distortionDB.ID] = distortions(d.Level)[d.R.IntN(3)]
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

// distortions are three amounts, from much downwards, the further apart the
// easier the level.
func distortions(levelDB float64) []float64 {
	apart := 2 + 3*distortionLadder.Place(levelDB)
	return []float64{-6 - 2*apart, -6 - apart, -6}
}

var saturatorAnswer = cards{params: []dsp.Param{saturatorNumber}, say: func(s dsp.Setting) string { return saturators[int(s.Get(saturatorNumber))-1].name }}

// saturationKind asks which kind of saturation it is, all as distorted.
func saturationKind() drills.Tool {
	var choices []drills.Choice
	for i, s := range saturators {
		choices = append(choices, drills.Choice{Label: s.name, Guess: dsp.Setting{saturatorNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "sat-kind", Title: "Kind of saturation", Type: "saturation",
		Doc:    "Tell soft, hard, asymmetric and tape saturation apart, all as distorted.",
		Source: noPublished, Confusable: []string{"sat-amount"},
		Error: wrong, Unit: "of 1", Level: distortionLadder,
		Rungs: []drills.Rung{
			{ID: "two", Title: "soft or hard", Surface: drills.Cards, Choices: choices[:2]},
			{ID: "four", Title: "one of four", Surface: drills.Cards, Choices: choices},
		},
		Params: []dsp.Param{saturatorNumber, distortionDB},
		Fit:    drills.Fit{Mix: true, Stems: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			n := len(d.Rung.Choices)
			return dsp.Setting{saturatorNumber.ID: float64(1 + d.R.IntN(n)), distortionDB.ID: d.Level}, nil
		},
		Change:   saturated,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Which saturation is it" + on(d) + "?" },
		Read:     saturatorAnswer.Read, Grade: saturatorAnswer.Grade, Tell: saturatorAnswer.Tell,
		Region: func(truth dsp.Setting) string { return saturatorAnswer.say(truth) },
	}
}

// saturationStem asks which stem is driven.
func saturationStem() drills.Tool {
	fit := drills.Fit{Stems: true, Among: true}
	return drills.Tool{
		ID: "sat-stem", Title: "Saturation on which stem", Type: "saturation",
		Doc:    "Hear which stem of a mix is driven.",
		Source: noPublished, Confusable: []string{"sat-kind"},
		Error: wrong, Unit: "of 1", Level: distortionLadder,
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "six", Title: "one of six", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, saturatorNumber, distortionDB},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{stemNumber.ID: float64(d.On), saturatorNumber.ID: 1, distortionDB.ID: d.Level}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredStems(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) > 0 {
				on = int(s.Get(stemNumber))
			}
			return saturated(c, on, s)
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem is driven?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}

// wordBits is how many bits are left.
var wordBits = dsp.Param{ID: "bits", Name: "bits", Min: 2, Max: 24, Neutral: 24, Scale: dsp.Whole}

var bitsAnswer = scale{
	param: wordBits, key: "errorBits", near: 1,
	say: unit(0, "bits"), off: over(unit(0, "bits"), "too many", "too few"),
}

// bitReduction asks how many bits a word was cut to, without dither.
//
// The ladder is how many are missing of 16.
func bitReduction() drills.Tool {
	return drills.Tool{
		ID: "sat-bits", Title: "Bit reduction", Type: "saturation",
		Doc:    "Hear to how many bits the words were cut.",
		Source: noPublished, Confusable: []string{"sat-amount"},
		Error: bitsAnswer.key, Unit: "bits",
		Level: dsp.Param{ID: "missing", Name: "bits missing of 16", Unit: "bits", Min: 9, Max: 13, Neutral: 12, Scale: dsp.Whole},
		Rungs: []drills.Rung{
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "free", Title: "how many", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{wordBits},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{wordBits.ID: 16 - math.Round(d.Level) + float64(d.R.IntN(2))}, nil
		},
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			first := asked.Get(wordBits) - 2*float64(d.R.IntN(3))
			if first < wordBits.Min {
				return nil, errors.New("an answer would have too few bits")
			}
			return steps(wordBits, bitsAnswer.say, first, first+2, first+4), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := saturation.BitDepth.New(c.Loop.RateHz, dsp.Setting{"bits": s.Get(wordBits)})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "To how many bits was " + it(d) + " cut?" },
		Read:     bitsAnswer.Read, Grade: bitsAnswer.Grade, Tell: bitsAnswer.Tell,
		Region: anywhere,
	}
}
