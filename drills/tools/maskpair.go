package tools

import (
	"errors"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/eq"
	"strop/dsp/measure"
)

// The two stems of the answer, the raise of the one, and the band in which it
// covers the other.
var (
	coveringStem = dsp.Param{ID: "covering", Name: "stem that covers", Min: 1, Max: 512, Neutral: 1, Scale: dsp.Whole}
	coveredStem  = dsp.Param{ID: "covered", Name: "stem that is covered", Min: 1, Max: 512, Neutral: 1, Scale: dsp.Whole}
)

const coverQ = 0.9

// maskPair asks which stem covers which. One is raised where the other is
// strongest; the truth is the pair whose covering rose most, by MaskedDB.
func maskPair() drills.Tool {
	answer := cards{params: []dsp.Param{coveringStem, coveredStem}}
	return drills.Tool{
		ID: "mix-cover", Title: "Which stem covers which", Type: "mix",
		Doc:        "Hear which stem has come to cover which.",
		Source:     bandSource,
		Confusable: []string{"mix-crowded"},
		Error:      wrong, Unit: "of 1",
		Level: dsp.Param{ID: "gainDB", Name: "raised by", Unit: "dB", Min: 3, Max: 15, Neutral: 12, Scale: dsp.Log},
		Rungs: []drills.Rung{{ID: "of-three", Title: "two of three stems", Surface: drills.Matrix}, {ID: "of-four", Title: "two of four stems", Surface: drills.Matrix}},
		Params: []dsp.Param{coveringStem, coveredStem,
			{ID: "freqHz", Name: "frequency", Unit: "Hz", Min: 20, Max: 20000, Neutral: 1000, Scale: dsp.Log},
			{ID: "gainDB", Name: "gain", Unit: "dB", Min: 0, Max: 24, Neutral: 0}},
		Fit:     drills.Fit{Stems: true, Among: true},
		Ask:     askCover,
		Choices: coverChoices,
		Change: func(c drills.Clip, _ int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := eq.Peak.New(c.Loop.RateHz, dsp.Setting{"freqHz": s["freqHz"], "gainDB": s["gainDB"], "q": coverQ})
			return []drills.Insert{{Stems: []int{int(s.Get(coveringStem))}, Processor: p}}, err
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem has come to cover which?" },
		Read:     answer.Read, Grade: answer.Grade,
		Tell: func(rung drills.Rung, truth, guess dsp.Setting) string {
			name := func(s dsp.Setting) string {
				for _, c := range rung.Choices {
					if answer.Grade(rung, s, given(s, c)).Right {
						return c.Label
					}
				}
				return "another pair"
			}
			return cards{params: answer.params, say: name}.Tell(rung, truth, guess)
		},
		Region: anywhere,
	}
}

// askCover draws a stem that covers another, in a band where both play.
func askCover(d drills.Draw) (dsp.Setting, error) {
	if len(playing(d.Clip)) < coverStems[d.Rung.ID] {
		return nil, errFewStems
	}
	for _, other := range shuffled(d, playing(d.Clip)) {
		s := dsp.Setting{coveringStem.ID: float64(d.On), coveredStem.ID: float64(other), "freqHz": strongest(d.Clip.On(other)), "gainDB": d.Level}
		if other != d.On && coveredMore(d.Clip, s) >= 0.7 && len(rivals(d, s)) >= coverStems[d.Rung.ID]-2 {
			return s, nil
		}
	}
	return nil, errors.New("this stem covers no other so that it could be told")
}

// rivals are the other stems that play, in any order, that the raised stem does
// not cover as much more as it does the truth's.
func rivals(d drills.Draw, asked dsp.Setting) (numbers []int) {
	moreDB := coveredMore(d.Clip, asked)
	for _, on := range shuffled(d, playing(d.Clip)) {
		rival := asked.With(coveredStem.ID, float64(on))
		if on != int(asked.Get(coveringStem)) && on != int(asked.Get(coveredStem)) && coveredMore(d.Clip, rival) < moreDB-0.4 {
			numbers = append(numbers, on)
		}
	}
	return numbers
}

// strongest is the band, of those that carry a part, in which a stem is
// strongest.
func strongest(f measure.Facts) float64 {
	best := 6
	for i := 6; i < 26; i++ {
		if f.BandsDB[i] > f.BandsDB[best] {
			best = i
		}
	}
	return dsp.ThirdOctaveHz(best)
}

// coveredMore is by how many dB the one stem is covered more by the other than
// before.
func coveredMore(c drills.Clip, s dsp.Setting) float64 {
	covering, covered := c.On(int(s.Get(coveringStem))), c.On(int(s.Get(coveredStem)))
	raised := covering.Tilted(func(freqHz float64) float64 { return eqDB(c.Loop.RateHz, freqHz, s) })
	return measure.MaskedDB(covered, raised) - measure.MaskedDB(covered, covering)
}

// coverStems is how many stems are offered.
var coverStems = map[string]int{"of-three": 3, "of-four": 4}

// coverChoices are all ordered pairs of the two stems and some others, but
// those whose covering rose as much as the truth's: they would be as right.
func coverChoices(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
	numbers := []int{int(asked.Get(coveringStem)), int(asked.Get(coveredStem))}
	others := rivals(d, asked)
	if len(others) < coverStems[d.Rung.ID]-2 {
		return nil, errFewStems
	}
	numbers = append(numbers, others[:coverStems[d.Rung.ID]-2]...)
	slices.Sort(numbers)
	var choices []drills.Choice
	for _, a := range numbers {
		for _, b := range numbers {
			if a != b {
				choices = append(choices, drills.Choice{
					Label: d.Clip.Where(a) + " covers " + d.Clip.Where(b), Row: d.Clip.Where(a), Column: d.Clip.Where(b),
					Guess: dsp.Setting{coveringStem.ID: float64(a), coveredStem.ID: float64(b)},
				})
			}
		}
	}
	return choices, nil
}
