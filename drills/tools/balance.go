package tools

import (
	"errors"
	"math"
	"strings"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/stereo"
)

var (
	balanceDB = dsp.Param{ID: "balanceDB", Name: "balance", Unit: "dB", Min: -16, Max: 16, Neutral: 0}
	// otherStem is the second stem that a question is about, by its number.
	otherStem = dsp.Param{ID: "other", Name: "other stem", Min: 1, Max: 512, Neutral: 1, Scale: dsp.Whole}
)

var balanceAnswer = scale{
	param: balanceDB, key: "errorDB", near: 1,
	say: dsp.FormatDB,
	off: over(decibels, "too much", "too little"),
}

// balance asks by how much the balance of two stems moved. One goes up by half
// of it, the other down, and both together stay as loud as they were.
//
// The ladder is the size of the move: as each stem moves by half of it, 2 dB
// are the 1 dB that is the least change of level heard in complex sounds, Open
// University, Hearing, section 10.3.
func balance() drills.Tool {
	return drills.Tool{
		ID: "balance", Title: "Balance of two stems", Type: "level",
		Doc:        "Hear by how many dB one stem came up over another.",
		Source:     "least change of level that is heard, 0.5 to 1 dB of each stem: Open University, Hearing, section 10.3",
		Confusable: []string{"level-stem"},
		Error:      balanceAnswer.key, Unit: "dB",
		Level: balanceLadder,
		Rungs: []drills.Rung{
			{ID: "which", Title: "which of the two came up", Surface: drills.Cards},
			{ID: "free", Title: "by how many dB", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{balanceDB, otherStem},
		Fit:          drills.Fit{Stems: true, Among: true},
		NothingShare: usualNothing,
		Ask:          askBalance,
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface != drills.Cards {
				return nil, nil
			}
			size := math.Abs(asked.Get(balanceDB))
			return []drills.Choice{
				{Label: d.Where(), Guess: dsp.Setting{balanceDB.ID: size}},
				{Label: d.Clip.Where(int(asked.Get(otherStem))), Guess: dsp.Setting{balanceDB.ID: -size}},
			}, nil
		},
		Change:   changeBalance,
		Question: balanceQuestion,
		Read:     balanceAnswer.Read, Grade: balanceAnswer.Grade, Tell: tellBalance,
		Region: anywhere,
	}
}

var balanceLadder = dsp.Param{ID: "moveDB", Name: "move", Unit: "dB", Min: 2, Max: 8, Neutral: 6, Scale: dsp.Log}

// levelsApartLU is how far two stems may lie apart to be weighed against each
// other. Common practice, no source.
const levelsApartLU = 12

func askBalance(d drills.Draw) (dsp.Setting, error) {
	stem := d.Clip.Stem(d.On)
	for _, on := range shuffled(d, playing(d.Clip)) {
		other := d.Clip.Stem(on)
		if on == d.On || on == stem.Pair || strings.EqualFold(other.Name, stem.Name) ||
			math.Abs(other.Facts.LoudnessLUFS-stem.Facts.LoudnessLUFS) > levelsApartLU {
			continue
		}
		size := d.Level
		if d.Rung.Surface == drills.Ruler {
			size = upTo(d, balanceLadder, 2)
		}
		return dsp.Setting{balanceDB.ID: either(d, size, -size), otherStem.ID: float64(on)}, nil
	}
	return nil, errors.New("no other stem is about as loud as " + d.Where())
}

func changeBalance(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
	if len(s) == 0 {
		return nil, nil
	}
	half := s.Get(balanceDB) / 2
	up, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": half})
	if err != nil {
		return nil, err
	}
	down, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": -half})
	return []drills.Insert{{Stems: []int{on}, Processor: up}, {Stems: []int{int(s.Get(otherStem))}, Processor: down}}, err
}

func balanceQuestion(d drills.Draw, asked dsp.Setting) string {
	other := d.Clip.Where(int(asked.Get(otherStem)))
	if d.Rung.Surface == drills.Cards {
		return "Which came up against the other, " + d.Where() + " or " + other + "?"
	}
	return "By how much did " + d.Where() + " come up over " + other + ", or go down under it?"
}

func tellBalance(r drills.Rung, truth, guess dsp.Setting) string {
	if r.Surface != drills.Cards || len(truth) == 0 {
		return balanceAnswer.Tell(r, truth, guess)
	}
	text := cards{params: []dsp.Param{balanceDB}, say: labelIn(r, balanceDB)}.Tell(r, truth, guess)
	return strings.TrimSuffix(text, ".") + ": up by " + decibels(math.Abs(truth.Get(balanceDB))) + " over the other."
}
