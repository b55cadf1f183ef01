package tools

import (
	"errors"
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// modulation is how far the gain of a compressor goes up and down.
var modulation = dsp.Param{ID: "modulationDB", Name: "modulation of the gain", Unit: "dB", Min: 0, Max: 24, Neutral: 0}

var modulationAnswer = scale{param: modulation, key: "errorDB", near: 1.5, say: decibels, off: over(decibels, "too much", "too little")}

var pumpLadder = dsp.Param{ID: "modulationDB", Name: "modulation of the gain", Unit: "dB", Min: 3, Max: 10, Neutral: 8, Scale: dsp.Log}

// steadyShare is how much of the pumping one's modulation the steady
// compressor has, against which it is told.
const steadyShare = 0.2

// pumpDrill asks whether the compressor of a mix pumps, and by how much: the
// modulation of its gain, as measured. One that does not pump is slow.
func pumpDrill() drills.Tool {
	return drills.Tool{
		ID: "comp-pump", Title: "Pumping", Type: "dynamics",
		Doc:        "Hear whether the compressor of a mix pumps, and how far its gain goes up and down.",
		Source:     "common practice, no source",
		Confusable: []string{"comp-release", "comp-over"},
		Error:      modulationAnswer.key, Unit: "dB", OwnLadder: true,
		Level: pumpLadder,
		Rungs: []drills.Rung{
			{ID: "there", Title: "pumping or steady", Surface: drills.Cards},
			{ID: "free", Title: "in dB", Surface: drills.Ruler},
		},
		Params: []dsp.Param{modulation, compAttack, compRelease},
		Fit:    drills.Fit{Mix: true},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			if d.Rung.Surface == drills.Ruler {
				return pumps(upTo(d, pumpLadder, 1.6)), nil
			}
			if d.R.IntN(2) == 0 {
				return steadies(d.Level), nil
			}
			return pumps(d.Level), nil
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return []drills.Choice{{Label: "pumping", Guess: pumps(d.Level)}, {Label: "steady", Guess: steadies(d.Level)}}, nil
		},
		Change: changePumping,
		Measure: func(m drills.Made) (dsp.Setting, error) {
			return near(m.Setting, modulation, modulationDB(m.Before, m.After, m.RateHz), 0.2)
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Ruler {
				return "How far does the gain of the compressor on the mix go up and down?"
			}
			return "Does the compressor on the mix pump, or is it steady?"
		},
		Read: modulationAnswer.Read, Grade: modulationAnswer.Grade, Tell: modulationAnswer.Tell,
		Region: anywhere,
	}
}

func pumps(db float64) dsp.Setting {
	return dsp.Setting{modulation.ID: db, compAttack.ID: 2, compRelease.ID: 200}
}

func steadies(db float64) dsp.Setting {
	return dsp.Setting{modulation.ID: steadyShare * db, compAttack.ID: 60, compRelease.ID: 2000}
}

// changePumping is a compressor whose gain moves as far as the setting says.
func changePumping(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	set := s.With(compRatio.ID, 8)
	delete(set, modulation.ID)
	return pumpingBy(c, on, s.Get(modulation), 0.2, set, func(before, after []dsp.Frame) float64 {
		return modulationDB(before, after, c.Loop.RateHz)
	})
}

// compressing puts a compressor where what read tells of it is want.
func pumpingBy(c drills.Clip, on int, want, tolerance float64, set dsp.Setting, read func(before, after []dsp.Frame) float64) ([]drills.Insert, error) {
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	after := make([]dsp.Frame, len(frames))
	p, err := solved(compThreshold.Max, compThreshold.Min, want, tolerance,
		func(thresholdDB float64) (dsp.Processor, error) {
			return dynamics.Compressor.New(c.Loop.RateHz, set.With(compThreshold.ID, thresholdDB))
		},
		func(p dsp.Processor) float64 {
			warm(p, frames, after)
			return read(frames, after)
		})
	return drills.OnStem(on, p), err
}

// warm is what comes of frames in a loop: p hears half a second of its end
// before. after is written over.
func warm(p dsp.Processor, frames, after []dsp.Frame) {
	before := after[:copy(after, frames[len(frames)-min(len(frames), warmFrames):])]
	p.Process(before)
	copy(after, frames)
	p.Process(after)
}

const warmFrames = 24000

// remade is what a change made of a stem, before that was brought back to the
// loudness it had.
func remade(m drills.Made) []dsp.Frame {
	if m.HeldDB == 0 {
		return m.After
	}
	after := slices.Clone(m.After)
	dsp.Gain(dsp.FromDB(-m.HeldDB)).Process(after)
	return after
}

// near is s with what was measured of it, or an error where that is not within
// a share of what was wanted: the loop does not take as much.
func near(s dsp.Setting, p dsp.Param, measured, share float64) (dsp.Setting, error) {
	want := s.Get(p)
	if math.IsNaN(measured) || math.Abs(measured-want) > share*math.Abs(want)+0.2 || p.Check(measured) != nil {
		return nil, errors.New("the loop does not take as much")
	}
	return s.With(p.ID, measured), nil
}

// Gain is read from blocks of 10 ms that lie within 40 dB of the loudest.
const (
	gainBlockS = 0.01
	gainSpanDB = 40.0
)

// modulationDB is how far the gain from one render to another goes up and
// down: from what a twentieth of the blocks lie under to what a twentieth
// exceed.
func modulationDB(before, after []dsp.Frame, rateHz float64) float64 {
	b, a := blockPowers(before, rateHz, gainBlockS), blockPowers(after, rateHz, gainBlockS)
	least := slices.Max(b) * dsp.FromDB(-2*gainSpanDB)
	var gains []float64
	for i, power := range b {
		if power > least && a[i] > 0 {
			gains = append(gains, dsp.PowerToDB(a[i]/power))
		}
	}
	if len(gains) == 0 {
		return 0
	}
	slices.Sort(gains)
	return gains[len(gains)*19/20] - gains[len(gains)/20]
}

// blockPowers is the power of a clip by blocks.
func blockPowers(frames []dsp.Frame, rateHz, blockS float64) []float64 {
	size := max(1, int(blockS*rateHz))
	powers := make([]float64, len(frames)/size)
	for i := range powers {
		for _, f := range frames[i*size : (i+1)*size] {
			powers[i] += f[0]*f[0] + f[1]*f[1]
		}
	}
	return powers
}
