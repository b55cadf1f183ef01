package tools

import (
	"errors"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// meanReduction is an average gain reduction, as measured.
var meanReduction = dsp.Param{ID: "meanReductionDB", Name: "average gain reduction", Unit: "dB", Min: 0, Max: 24, Neutral: 0}

// What is set of the compressor whose reduction is asked.
var (
	compThreshold = dsp.Param{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -60, Max: 0, Neutral: 0}
	compRatio     = dsp.Param{ID: "ratio", Name: "ratio", Min: 1, Max: 20, Neutral: 1, Scale: dsp.Log}
	compAttack    = dsp.Param{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.05, Max: 200, Neutral: 10, Scale: dsp.Log}
	compRelease   = dsp.Param{ID: "releaseMS", Name: "release", Unit: "ms", Min: 10, Max: 2000, Neutral: 100, Scale: dsp.Log}
)

var reductionAnswer = scale{
	param: meanReduction, key: "errorDB", near: 1,
	say: decibels,
	off: over(decibels, "too much", "too little"),
}

// reductionAmount asks for the average gain reduction of a compressor, at
// equal loudness. The truth is what the compressor did, not what was set.
//
// The ladder is the reduction. No published
// least difference was found; 2 dB is common practice, no source.
func reductionAmount() drills.Tool {
	return drills.Tool{
		ID: "comp-reduction", Title: "Gain reduction", Type: "dynamics",
		Doc:        "Hear how much a compressor takes away on average, at equal loudness.",
		Source:     "common practice, no source: from 2 dB on average",
		Confusable: []string{"comp-ratio", "comp-there"},
		Error:      reductionAnswer.key, Unit: "dB",
		Level: dsp.Param{ID: "reductionDB", Name: "average gain reduction", Unit: "dB", Min: 2, Max: 12, Neutral: 8, Scale: dsp.Log},
		Rungs: []drills.Rung{
			{ID: "three", Title: "little, some, much", Surface: drills.Cards},
			{ID: "free", Title: "in dB", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{meanReduction, compRatio, compAttack, compRelease},
		Fit:          drills.Fit{Mix: true, Stems: true},
		NothingShare: usualNothing,
		Ask:          askReduction,
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			return steps(meanReduction, decibels, reductions(d.Level)...), nil
		},
		OwnLadder: true,
		Near:      func(levelDB float64) float64 { return 2.5 * (reductionRatio(levelDB) - 1) },
		Change:    changeReduction,
		Measure:   measureReduction,
		Question:  func(d drills.Draw, _ dsp.Setting) string { return "How much gain reduction" + on(d) + ", on average?" },
		Read:      reductionAnswer.Read,
		Grade:     reductionAnswer.Grade,
		Tell:      reductionAnswer.Tell,
		Region:    anywhere,
	}
}

// on is " on Snare top", or nothing for the mix.
func on(d drills.Draw) string {
	if d.On == 0 {
		return ""
	}
	return " on " + d.Where()
}

func askReduction(d drills.Draw) (dsp.Setting, error) {
	s := dsp.Setting{meanReduction.ID: between(d, meanReduction, 2, 12), compRatio.ID: 4, compAttack.ID: 5, compRelease.ID: 120}
	if d.Rung.Surface == drills.Cards {
		s[meanReduction.ID] = reductions(d.Level)[d.R.IntN(3)]
	}
	return s, nil
}

// reductions are three amounts, the further apart the easier the level.
func reductions(levelDB float64) []float64 {
	ratio := reductionRatio(levelDB)
	return []float64{5 / ratio, 5, 5 * ratio}
}

// reductionRatio is from one amount to the next.
func reductionRatio(levelDB float64) float64 { return 1.35 + (levelDB-2)/10*1.65 }

func changeReduction(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	frames, err := c.Target(on)
	if err != nil {
		return nil, err
	}
	p, err := compressorFor(frames, c.Loop.RateHz, s.Get(meanReduction), dsp.Setting{
		compRatio.ID: s.Get(compRatio), compAttack.ID: s.Get(compAttack), compRelease.ID: s.Get(compRelease),
	})
	return drills.OnStem(on, p), err
}

// measureReduction reads what the compressor did.
func measureReduction(m drills.Made) (dsp.Setting, error) {
	mean, _ := m.Inserts[0].Processor.(dynamics.Reducer).ReductionDB()
	if mean < 0.5 {
		return nil, errors.New("the loop cannot be compressed as much")
	}
	return m.Setting.With(meanReduction.ID, min(mean, meanReduction.Max)), nil
}

// compressorFor is the usual compressor, as reducing makes it.
func compressorFor(frames []dsp.Frame, rateHz, meanDB float64, set dsp.Setting) (dsp.Processor, error) {
	if meanDB == 0 {
		return dynamics.Compressor.New(rateHz, dsp.Setting{})
	}
	return reducing(dynamics.Compressor, frames, rateHz, meanDB, set)
}

// reducing is a compressor with the threshold at which it takes meanDB away on
// average from frames, within a tenth of a dB or as near as it gets.
func reducing(spec dsp.Spec, frames []dsp.Frame, rateHz, meanDB float64, set dsp.Setting) (dsp.Processor, error) {
	thresholdDB, err := thresholdFor(spec, frames, rateHz, meanDB, 0.1, set)
	if err != nil {
		return nil, err
	}
	return spec.New(rateHz, set.With(compThreshold.ID, thresholdDB))
}

// thresholdFor is the threshold of reducing, found within a tolerance.
func thresholdFor(spec dsp.Spec, frames []dsp.Frame, rateHz, meanDB, tolerance float64, set dsp.Setting) (thresholdDB float64, err error) {
	g := newSketch(frames, rateHz, set).guess(meanDB)
	return solveFrom(g, compThreshold.Max, compThreshold.Min, meanDB, tolerance, meanReductionOf(spec, frames, rateHz, set))
}

// sketch is a compressor that sees the peaks of 5 ms and works from one to the
// next, for a threshold to begin with.
type sketch struct {
	levelsDB   []float64
	share      float64 // that it takes of what is above the threshold
	rise, fall float64 // what is left of a difference after 5 ms
}

func newSketch(frames []dsp.Frame, rateHz float64, set dsp.Setting) sketch {
	const blockMS = 5
	return sketch{
		blockPeaksDB(frames, int(blockMS*rateHz/1000)), 1 - 1/set.Get(compRatio),
		math.Exp(-blockMS / set.Get(compAttack)), math.Exp(-blockMS / set.Get(compRelease)),
	}
}

// guess is the threshold at which it takes meanDB away on average.
func (s sketch) guess(meanDB float64) guess {
	lo, hi := compThreshold.Min, compThreshold.Max
	for hi-lo > 0.1 {
		if middle := (lo + hi) / 2; s.meanDB(middle) > meanDB {
			lo = middle
		} else {
			hi = middle
		}
	}
	return guess{lo, max(0.05, s.meanDB(lo-0.5)-s.meanDB(lo+0.5))}
}

// meanDB is what it takes away on average.
func (s sketch) meanDB(thresholdDB float64) float64 {
	sum, reductionDB := 0.0, 0.0
	for _, db := range s.levelsDB {
		wantDB, left := s.share*max(0, db-thresholdDB), s.fall
		if wantDB > reductionDB {
			left = s.rise
		}
		reductionDB = wantDB + left*(reductionDB-wantDB)
		sum += reductionDB
	}
	return sum / float64(max(1, len(s.levelsDB)))
}

// blockPeaksDB is the greatest sample of each block of n frames.
func blockPeaksDB(frames []dsp.Frame, n int) (levelsDB []float64) {
	for ; len(frames) >= n; frames = frames[n:] {
		peak := 0.0
		for _, f := range frames[:n] {
			peak = max(peak, math.Abs(f[0]), math.Abs(f[1]))
		}
		levelsDB = append(levelsDB, dsp.ToDB(peak))
	}
	return levelsDB
}

// meanReductionOf reads what a compressor takes away on average from frames, by
// its threshold.
func meanReductionOf(spec dsp.Spec, frames []dsp.Frame, rateHz float64, set dsp.Setting) func(thresholdDB float64) (float64, error) {
	buf := make([]dsp.Frame, len(frames))
	return func(thresholdDB float64) (float64, error) {
		p, err := spec.New(rateHz, set.With(compThreshold.ID, thresholdDB))
		if err != nil {
			return 0, err
		}
		copy(buf, frames)
		p.Process(buf)
		mean, _ := p.(dynamics.Reducer).ReductionDB()
		return mean, nil
	}
}
