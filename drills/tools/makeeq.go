package tools

import (
	"fmt"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
)

// makeEQ has the engineer undo a hidden peak or dip with a peak filter: the
// method of adjustment.
//
// A truth is the filter that undoes the change exactly: the peak filter's
// response at gain −g is the inverse of that at g. The ladder is as for EQ
// band.
func makeEQ() drills.Tool {
	return drills.Tool{
		ID: "make-eq", Title: "Undo with an EQ", Type: "EQ",
		Doc:        "Undo a hidden peak or dip with a peak filter: say the move first, then make it.",
		Source:     "smallest amplitude heard in popular music at Q 1: F. E. Toole & S. E. Olive, JAES 36 (1988), p. 134, as quoted",
		Confusable: []string{"eq-band"},
		Error:      errorOct, Unit: "oct",
		Level:  dsp.Param{ID: "boostDB", Name: "hidden boost", Unit: "dB", Min: 1.5, Max: 12, Neutral: 9, Scale: dsp.Log},
		Rungs:  []drills.Rung{{ID: "turn", Title: "a peak filter", Surface: drills.Knobs}},
		Params: []dsp.Param{bandHz, bandGain, bandQ},
		Fit:    drills.Fit{Mix: true, Stems: true},
		Ask:    askMakeEQ,
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return changeBand(c, on, inverse(s))
		},
		Mend:     mendEQ,
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Bring " + it(d) + " back to how it was." },
		Read:     readKnobs(bandHz, bandGain, bandQ),
		Grade:    gradeMakeEQ,
		Tell:     tellMakeEQ,
		Region:   bandRegion,
	}
}

// inverse is the peak filter that undoes s; nothing for nothing.
func inverse(s dsp.Setting) dsp.Setting {
	if len(s) == 0 {
		return s
	}
	return s.With(bandGain.ID, -s.Get(bandGain))
}

func askMakeEQ(d drills.Draw) (dsp.Setting, error) {
	s := dsp.Setting{
		bandHz.ID: between(d, bandHz, dsp.ThirdOctaveHz(4), dsp.ThirdOctaveHz(29)),
		bandQ.ID:  octaveQ, bandGain.ID: either(d, -d.Level, cutFactor*d.Level),
	}
	return s, carries(d, s.Get(bandHz), eq.OctFromQ(s.Get(bandQ)))
}

// mendEQ is the hidden filter and then the listener's.
func mendEQ(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
	hidden, err := eq.Peak.New(c.Loop.RateHz, inverse(truth))
	if err != nil {
		return nil, err
	}
	mine, err := eq.Peak.New(c.Loop.RateHz, guess)
	return drills.OnStem(on, dsp.Chain{hidden, mine}), err
}

// gradeMakeEQ is right within a third of an octave and 2 dB, or half of the
// gain where that is less. Common practice, no source.
func gradeMakeEQ(_ drills.Rung, truth, guess dsp.Setting) drills.Score {
	if len(truth) == 0 || len(guess) == 0 {
		return drills.Score{Right: len(truth) == len(guess)}
	}
	oct := dsp.Octaves(truth.Get(bandHz), guess.Get(bandHz))
	db := guess.Get(bandGain) - truth.Get(bandGain)
	return drills.Score{
		Right:  math.Abs(oct) <= freeTolerance+1e-9 && math.Abs(db) <= min(2, math.Abs(truth.Get(bandGain))/2),
		Errors: map[string]float64{errorOct: oct, "errorDB": db},
	}
}

func tellMakeEQ(_ drills.Rung, truth, guess dsp.Setting) string {
	if text, told := tellNothing(truth, guess, bandSize); told {
		return text
	}
	return fmt.Sprintf("%s undoes it; you turned to %s.", bandSize(truth), bandSize(guess))
}
