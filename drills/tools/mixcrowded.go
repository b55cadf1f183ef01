package tools

import (
	"errors"
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/stereo"
)

var (
	rangeNumber = dsp.Param{ID: "range", Name: "range", Min: 1, Max: 4, Neutral: 1, Scale: dsp.Whole}
	crowdGain   = dsp.Param{ID: "gainDB", Name: "parts brought up by", Unit: "dB", Min: 0, Max: 18, Neutral: 0}
)

// crowdRanges are the answers, with the middle of each; each reaches an octave
// to either side.
var crowdRanges = []struct {
	name string
	hz   float64
}{{"the bass", 90}, {"the low middle", 350}, {"the middle", 1400}, {"the treble", 5600}}

var rangeAnswer = cards{params: []dsp.Param{rangeNumber}, say: func(s dsp.Setting) string { return crowdRanges[int(s.Get(rangeNumber))-1].name }}

// mixCrowded asks where too many parts are in each other's way. Two parts that
// live in a range are brought up until they cover the others there. The truth
// is the range in which the others are covered most by MaskedWithinDB, and a
// loop in which that is not plain is not asked about.
//
// The ladder is by how much they are brought up. No least difference was found.
func mixCrowded() drills.Tool {
	var choices []drills.Choice
	for i, r := range crowdRanges {
		choices = append(choices, drills.Choice{Label: r.name, Guess: dsp.Setting{rangeNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "mix-crowded", Title: "Where it is crowded", Type: "mix",
		Doc:        "Hear whether too many parts are in each other's way in one range, and in which.",
		Source:     noPublished,
		Confusable: []string{"eq-band", "mix-attribute"},
		Error:      wrong, Unit: "of 1",
		Level:        dsp.Param{ID: "gainDB", Name: "parts brought up by", Unit: "dB", Min: 2, Max: 15, Neutral: 12, Scale: dsp.Log},
		Rungs:        []drills.Rung{{ID: "four", Title: "one of four ranges", Surface: drills.Cards, Choices: choices}},
		Params:       []dsp.Param{rangeNumber, crowdGain},
		Fit:          drills.Fit{Mix: true},
		NothingShare: 0.2,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			for _, n := range d.R.Perm(len(crowdRanges)) {
				if crowdedJustThere(d.Clip, n, d.Level) {
					return dsp.Setting{rangeNumber.ID: float64(n + 1), crowdGain.ID: d.Level}, nil
				}
			}
			return nil, errNotCrowded
		},
		Change:   crowd,
		Question: func(drills.Draw, dsp.Setting) string { return "Where is the arrangement crowded?" },
		Read:     rangeAnswer.Read, Grade: rangeAnswer.Grade, Tell: rangeAnswer.Tell,
		Region: func(truth dsp.Setting) string { return rangeAnswer.say(truth) },
	}
}

// errNotCrowded is why a loop cannot show it.
var errNotCrowded = errors.New("no two parts of this loop cover the others in one range more than elsewhere")

// crowders are the two parts that live in the range of that index: those with
// the greatest share of their power there.
func crowders(c drills.Clip, n int) []int {
	numbers, shareDB := playing(c), map[int]float64{}
	for _, on := range numbers {
		shareDB[on] = withinDB(c.On(on), n) - c.On(on).TotalDB
	}
	slices.SortStableFunc(numbers, func(a, b int) int { return compare(shareDB[b], shareDB[a]) })
	return numbers[:min(2, len(numbers))]
}

// withinDB is the level of a sound in the range of that index.
func withinDB(f measure.Facts, n int) float64 {
	power := 0.0
	for i, db := range f.BandsDB {
		if math.Abs(dsp.Octaves(crowdRanges[n].hz, dsp.ThirdOctaveHz(i))) <= 1 {
			power += math.Pow(10, db/10)
		}
	}
	return dsp.PowerToDB(power)
}

func crowd(c drills.Clip, _ int, s dsp.Setting) (inserts []drills.Insert, err error) {
	if len(s) == 0 {
		return nil, nil
	}
	for _, n := range crowders(c, int(s.Get(rangeNumber))-1) {
		p, err := stereo.Gain.New(c.Loop.RateHz, dsp.Setting{"gainDB": s.Get(crowdGain)})
		if err != nil {
			return nil, err
		}
		inserts = append(inserts, drills.Insert{Stems: []int{n}, Processor: p})
	}
	return inserts, nil
}

// covered is by how much more the other parts are covered in each range, in dB
// on average of those that have it, when some are brought up.
func covered(c drills.Clip, up []int, gainDB float64) (moreDB [4]float64) {
	before, after := bands(c, up, 0), bands(c, up, gainDB)
	for n, r := range crowdRanges {
		parts := 0.0
		for _, on := range playing(c) {
			if slices.Contains(up, on) || withinDB(c.On(on), n) < c.On(on).TotalDB-partLivesDB {
				continue
			}
			lo, hi := r.hz/2, r.hz*2
			moreDB[n] += measure.MaskedWithinDB(c.On(on), after, lo, hi) - measure.MaskedWithinDB(c.On(on), before, lo, hi)
			parts++
		}
		moreDB[n] /= max(parts, 1)
	}
	return moreDB
}

// partLivesDB is how far under the whole of a part its level in a range may
// lie, and it still plays there. Common practice, no source.
const partLivesDB = 20.0

// bands are those of some stems together, brought up by gainDB.
func bands(c drills.Clip, on []int, gainDB float64) (sum measure.Facts) {
	for i := range sum.BandsDB {
		power := 0.0
		for _, n := range on {
			power += math.Pow(10, (c.On(n).BandsDB[i]+gainDB)/10)
		}
		sum.BandsDB[i] = dsp.PowerToDB(power)
	}
	return sum
}

// crowdedJustThere reports whether bringing its parts up covers the others more
// in one range than elsewhere: by a fifth, and by 1 dB. Common practice, no
// source.
func crowdedJustThere(c drills.Clip, n int, gainDB float64) bool {
	if len(playing(c)) < 4 {
		return false
	}
	moreDB := covered(c, crowders(c, n), gainDB)
	for i, db := range moreDB {
		if i != n && db > moreDB[n]/1.2 {
			return false
		}
	}
	return moreDB[n] >= 1
}
