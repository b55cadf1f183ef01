package tools

import (
	"math"

	"strop/drills"
	"strop/dsp"
)

// settingDrill is a drill about the value of one setting: which of two or three
// that lie evenly apart, somewhere in its range, then any. Its ladder is how far
// apart they lie: a ratio on a logarithmic parameter, else a difference.
type settingDrill struct {
	id, title, kind, doc, source, question string

	param             dsp.Param // the setting: what is asked
	say               func(v float64) string
	more, less        string  // of what the guess has too much or too little: "too long"
	brief             bool    // it shows at moments
	key               string  // of the error; "" for errorOct on a logarithmic parameter
	near              float64 // an answer so near is right, in the error's unit
	hard, easy, start float64 // distances from answer to answer
	floor             drills.Floor
	lo, hi            float64 // of what is asked
	fit               drills.Fit
	confusable        string

	build   func(c drills.Clip, on int, v float64) (dsp.Processor, error)
	measure func(m drills.Made, v float64) (float64, error) // the value as it came out; nil: as it was set
}

func (s settingDrill) log() bool { return s.param.Scale == dsp.Log }

func (s settingDrill) ladder() dsp.Param {
	p := dsp.Param{ID: "apart", Name: s.param.Name + ", from answer to answer", Unit: s.param.Unit, Min: s.hard, Max: s.easy, Neutral: s.start}
	if s.log() {
		p.Unit, p.Scale = ":1", dsp.Log
	}
	return p
}

// halfway is as near as an answer has to come on a scale: half of what lies
// between two answers.
func (s settingDrill) halfway(apart float64) float64 {
	if s.log() {
		return math.Log2(apart) / 2
	}
	return apart / 2
}

func (s settingDrill) answer() scale {
	a := scale{param: s.param, key: s.key, near: s.near, say: s.say, off: over(s.say, s.more, s.less)}
	if s.log() {
		a.key, a.apart = "errorOct", dsp.Octaves
		a.off = over(func(oct float64) string { return unit(1, "times")(math.Exp2(oct)) }, s.more, s.less)
	}
	return a
}

// tool is the drill.
func (s settingDrill) tool() drills.Tool {
	answer := s.answer()
	values := spaced{s.param, s.lo, s.hi, s.say}
	t := drills.Tool{
		ID: s.id, Title: s.title, Type: s.kind, Doc: s.doc, Source: s.source,
		Error: answer.key, Unit: errorUnit(s.param), Level: s.ladder(), OwnLadder: true, Floor: s.floor, Near: s.halfway, Brief: s.brief,
		Rungs: []drills.Rung{
			{ID: "two", Title: "one of two", Surface: drills.Cards},
			{ID: "three", Title: "one of three", Surface: drills.Cards},
			{ID: "free", Title: "any value", Surface: drills.Ruler},
		},
		Params: []dsp.Param{s.param},
		Fit:    s.fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{s.param.ID: values.draw(d)}, nil
		},
		Choices: values.choices,
		Change: func(c drills.Clip, on int, set dsp.Setting) ([]drills.Insert, error) {
			if len(set) == 0 {
				return nil, nil
			}
			p, err := s.build(c, on, set.Get(s.param))
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return s.question + on(d) + "?" },
		Read:     answer.Read, Grade: answer.Grade, Tell: answer.Tell,
		Region: thirdsOf(values),
	}
	if s.confusable != "" {
		t.Confusable = []string{s.confusable}
	}
	if s.measure != nil {
		t.Measure = func(m drills.Made) (dsp.Setting, error) {
			v, err := s.measure(m, m.Setting.Get(s.param))
			return m.Setting.With(s.param.ID, min(max(v, s.param.Min), s.param.Max)), err
		}
	}
	return t
}
