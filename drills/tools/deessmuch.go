package tools

import (
	"errors"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
	"strop/dsp/eq"
)

// essReduction is by how much the s and sh of a voice came down.
var essReduction = dsp.Param{ID: "essDB", Name: "reduction of the sibilants", Unit: "dB", Min: 0, Max: 24, Neutral: 0}

var essAnswer = scale{param: essReduction, key: "errorDB", near: 1.5, say: decibels, off: over(decibels, "too much", "too little")}

// deEssDrill asks by how much a de-esser lowers the sibilants of a voice, as
// measured. It calls no amount right.
func deEssDrill() drills.Tool {
	return drills.Tool{
		ID: "deess-much", Title: "De-essing", Type: "dynamics",
		Doc:        "Hear by how much a de-esser lowers the sibilants of a voice.",
		Source:     "common practice, no source",
		Confusable: []string{"eq-highcut", "sibilance"},
		Error:      essAnswer.key, Unit: "dB", NothingShare: usualNothing, OwnLadder: true, Brief: true,
		Near:  func(factor float64) float64 { return 5 * (factor - 1) / 2 },
		Level: dsp.Param{ID: "factor", Name: "factor from one amount to the next", Min: 1.4, Max: 2, Neutral: 1.9, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "three", Title: "little, some, much", Surface: drills.Cards},
			{ID: "free", Title: "in dB", Surface: drills.Ruler},
		},
		Params: []dsp.Param{essReduction},
		Fit:    drills.Fit{Stems: true, Roles: voices},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			if d.Rung.Surface == drills.Ruler {
				return dsp.Setting{essReduction.ID: between(d, essReduction, 2.5, 10)}, nil
			}
			return dsp.Setting{essReduction.ID: essReductions(d.Level)[d.R.IntN(3)]}, nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(essReduction, decibels, essReductions(d.Level)...), nil
		},
		Change: changeDeEss,
		Measure: func(m drills.Made) (dsp.Setting, error) {
			s, err := newSibilants(m.Before, m.RateHz)
			if err != nil {
				return nil, err
			}
			return near(m.Setting, essReduction, s.loweredDB(remade(m)), 0.1)
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "By how much are the sibilants of " + it(d) + " lowered?"
		},
		Read: essAnswer.Read, Grade: essAnswer.Grade, Tell: essAnswer.Tell,
		Region: anywhere,
	}
}

// essReductions are three amounts, as far apart as the level says.
func essReductions(factor float64) []float64 { return []float64{5 / factor, 5, 5 * factor} }

// changeDeEss is a de-esser with the threshold at which the sibilants come down
// so far.
func changeDeEss(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	ess, err := newSibilants(frames, c.Loop.RateHz)
	if err != nil {
		return nil, err
	}
	after := make([]dsp.Frame, len(frames))
	p, err := solved(compThreshold.Max, compThreshold.Min, s.Get(essReduction), 0.1,
		func(thresholdDB float64) (dsp.Processor, error) {
			return ess.deEsser(c.Loop.RateHz, thresholdDB)
		},
		func(p dsp.Processor) float64 {
			warm(p, frames, after)
			return ess.loweredDB(after)
		})
	return drills.OnStem(on, p), err
}

// deEsser is one whose threshold is re the sibilants: they are brought to full
// scale before it, and back after it.
func (s *sibilants) deEsser(rateHz, thresholdDB float64) (dsp.Processor, error) {
	p, err := dynamics.DeEsser.New(rateHz, dsp.Setting{compThreshold.ID: thresholdDB, "freqHz": 3500, "ratio": 10, "rangeDB": 24})
	return dsp.Chain{dsp.Gain(1 / s.peak), p, dsp.Gain(s.peak)}, err
}

// Sibilants are blocks of 10 ms with more than half as much power around 7 kHz
// as from 0.3 to 1.3 kHz, and no more than 45 dB under the loudest. Common
// practice, no source.
const (
	essBlockS = 0.01
	essShare  = 0.5
	essSpanDB = 45.0
)

// sibilants are the blocks of a voice that hold an s or an sh.
type sibilants struct {
	high   dsp.Processor
	rateHz float64
	blocks []int
	power  float64 // of all of them, high
	peak   float64 // high
	buf    []dsp.Frame
}

func newSibilants(voice []dsp.Frame, rateHz float64) (*sibilants, error) {
	var bands [3]dsp.Processor
	for i, set := range []dsp.Setting{{"freqHz": 630, "q": 0.6}, {"freqHz": 6300, "q": 1.4}, {"freqHz": 8000, "q": 1.4}} {
		var err error
		if bands[i], err = eq.BandPass.New(rateHz, set.With("outsideDB", -60)); err != nil {
			return nil, err
		}
	}
	s := &sibilants{high: dsp.Chain{bands[1], bands[2]}, rateHz: rateHz, buf: make([]dsp.Frame, len(voice))}
	middle, high := s.powers(bands[0], voice), s.powers(s.high, voice)
	least := slices.Max(middle) * dsp.FromDB(-2*essSpanDB)
	for i, power := range high {
		if power > essShare*middle[i] && power > least {
			s.blocks = append(s.blocks, i)
			s.power += power
		}
	}
	if len(s.blocks) < 3 {
		return nil, errors.New("the voice has no sibilants in this loop")
	}
	for _, f := range s.buf {
		s.peak = max(s.peak, abs(f[0]), abs(f[1]))
	}
	return s, nil
}

// powers is the power of a band by blocks.
func (s *sibilants) powers(band dsp.Processor, voice []dsp.Frame) []float64 {
	copy(s.buf, voice)
	band.Reset()
	band.Process(s.buf)
	return blockPowers(s.buf, s.rateHz, essBlockS)
}

// loweredDB is by how much they came down.
func (s *sibilants) loweredDB(voice []dsp.Frame) float64 {
	now, power := s.powers(s.high, voice), 0.0
	for _, i := range s.blocks {
		power += now[i]
	}
	return dsp.PowerToDB(s.power / power)
}
