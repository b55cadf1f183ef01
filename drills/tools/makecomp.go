package tools

import (
	"fmt"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/dynamics"
)

// compKnobs are what the engineer turns.
var compKnobs = []dsp.Param{
	{ID: "thresholdDB", Name: "threshold", Unit: "dB", Min: -60, Max: 0, Neutral: 0},
	{ID: "ratio", Name: "ratio", Min: 1, Max: 20, Neutral: 1, Scale: dsp.Log},
	{ID: "attackMS", Name: "attack", Unit: "ms", Min: 0.1, Max: 100, Neutral: 10, Scale: dsp.Log},
	{ID: "releaseMS", Name: "release", Unit: "ms", Min: 110, Max: 1500, Neutral: 150, Scale: dsp.Log},
}

// makeComp has the engineer match a compressor: nothing undoes compression, so
// the changed side is the target, and the untouched one is to come out like it.
//
// It is right where threshold and ratio, which decide the degree, are within
// 4 dB and a factor of 2 and the times within a factor of 3, and, whatever the
// knobs say, where no more than 1 dB of excitation remains.
//
// The ladder is the average reduction of the hidden compressor, as for gain
// reduction.
func makeComp() drills.Tool {
	return drills.Tool{
		ID: "make-comp", Title: "Match a compressor", Type: "dynamics",
		Doc:        "Set a compressor so that the untouched sound comes out as the compressed one: say the move first, then make it.",
		Source:     "from 2 dB on average, ratio within 2, times within 3: common practice, no source",
		Confusable: []string{"comp-reduction", "comp-ratio"},
		Error:      "errorDB", Unit: "dB", OwnLadder: true,
		Level:  reductionLadder,
		Rungs:  []drills.Rung{{ID: "turn", Title: "a compressor", Surface: drills.Knobs}},
		Params: compKnobs,
		Fit:    onDynamics,
		Match:  true,
		Ask:    askMakeComp,
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := dynamics.Compressor.New(c.Loop.RateHz, s)
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			return "Compress " + it(d) + " until it sounds as on the changed side."
		},
		Read:  readKnobs(compKnobs...),
		Grade: gradeMakeComp,
		Tell: func(_ drills.Rung, truth, guess dsp.Setting) string {
			if text, told := tellNothing(truth, guess, compressorInWords); told {
				return text
			}
			return "It was " + compressorInWords(truth) + "; you turned to " + compressorInWords(guess) + "."
		},
		Region: anywhere,
	}
}

// askMakeComp draws ratio and times, and finds the threshold at which as much
// is taken from the loudest two seconds as the level says.
func askMakeComp(d drills.Draw) (dsp.Setting, error) {
	frames, err := d.Clip.Target(d.On)
	if err != nil {
		return nil, err
	}
	s := dsp.Setting{
		compRatio.ID:   twoDigits(between(d, compRatio, 2, 12)),
		compAttack.ID:  twoDigits(between(d, compAttack, 0.5, 50)),
		compRelease.ID: twoDigits(between(d, compRelease, 120, 800)),
	}
	frames = loudestPart(frames, int(2*d.Clip.Loop.RateHz))
	thresholdDB, err := thresholdFor(dynamics.Compressor, frames, d.Clip.Loop.RateHz, d.Level, 0.2, s)
	return s.With(compThreshold.ID, math.Round(thresholdDB*2)/2), err
}

// gradeMakeComp compares knob by knob.
func gradeMakeComp(_ drills.Rung, truth, guess dsp.Setting) drills.Score {
	if len(truth) == 0 || len(guess) == 0 {
		return drills.Score{Right: len(truth) == len(guess)}
	}
	oct := func(i int) float64 { return dsp.Octaves(truth.Get(compKnobs[i]), guess.Get(compKnobs[i])) }
	db := guess.Get(compKnobs[0]) - truth.Get(compKnobs[0])
	ratio, attack, release := oct(1), oct(2), oct(3)
	within3 := math.Log2(3) + 1e-9
	return drills.Score{
		Right:  abs(db) <= 4 && abs(ratio) <= 1+1e-9 && abs(attack) <= within3 && abs(release) <= within3,
		Errors: map[string]float64{"errorDB": db, "errorRatioOct": ratio, "errorAttackOct": attack, "errorReleaseOct": release},
	}
}

func compressorInWords(s dsp.Setting) string {
	return fmt.Sprintf("%s, %s, attack %s, release %s", dsp.FormatDB(s.Get(compKnobs[0])), ratioText(s.Get(compKnobs[1])),
		milliseconds(s.Get(compKnobs[2])), milliseconds(s.Get(compKnobs[3])))
}
