package tools

import (
	"errors"
	"slices"

	"strop/drills"
	"strop/dsp"
)

// stemNumber is the answer to "which stem": its number in the loop, from 1.
var stemNumber = dsp.Param{ID: "stem", Name: "stem", Min: 1, Max: 512, Neutral: 1, Scale: dsp.Whole}

// errFewStems is why a question about one stem of several is not asked.
var errFewStems = errors.New("too few stems play in this loop")

// offeredStems are the stems among which the one meant is to be found: that
// one and up to n−1 others that play, in the order of the material. Those that
// suit the drill come first.
func offeredStems(d drills.Draw, fit drills.Fit, n int) ([]drills.Choice, error) {
	targets, _ := fit.Targets(d.Clip)
	return offered(d, slices.Concat(shuffled(d, targets), shuffled(d, playing(d.Clip))), n)
}

// offered are the stem that is meant and the first n−1 others of some.
func offered(d drills.Draw, some []int, n int) ([]drills.Choice, error) {
	var numbers []int
	for _, on := range some {
		if on > 0 && on != d.On && !slices.Contains(numbers, on) && len(numbers) < n-1 {
			numbers = append(numbers, on)
		}
	}
	if len(numbers) < 2 || d.On == 0 {
		return nil, errFewStems
	}
	numbers = append(numbers, d.On)
	slices.Sort(numbers)
	return stemChoices(d.Clip, numbers), nil
}

// among finds out, before anything is rendered, whether n stems that suit play.
func among(d drills.Draw, fit drills.Fit, n int) error {
	if targets, err := fit.Targets(d.Clip); err != nil || len(targets) < n {
		return errFewStems
	}
	return nil
}

// stemChoices are stems as answers, by their names.
func stemChoices(c drills.Clip, numbers []int) (choices []drills.Choice) {
	for _, on := range numbers {
		choices = append(choices, drills.Choice{Label: c.Where(on), Guess: dsp.Setting{stemNumber.ID: float64(on)}})
	}
	return choices
}

func playing(c drills.Clip) (on []int) {
	for i := range c.Stems {
		if c.Plays(i + 1) {
			on = append(on, i+1)
		}
	}
	return on
}

func shuffled(d drills.Draw, numbers []int) []int {
	out := slices.Clone(numbers)
	d.R.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// tellStem names the stems as they were offered.
func tellStem(rung drills.Rung, truth, guess dsp.Setting) string {
	name := func(s dsp.Setting) string {
		for _, c := range rung.Choices {
			if c.Guess.Get(stemNumber) == s.Get(stemNumber) {
				return c.Label
			}
		}
		return "another stem"
	}
	return cards{params: []dsp.Param{stemNumber}, say: name}.Tell(rung, truth, guess)
}
