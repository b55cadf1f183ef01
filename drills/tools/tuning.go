package tools

import (
	"math"
	"slices"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/pitch"
)

// tuneCents is how far out of tune, sharp above 0.
var tuneCents = dsp.Param{ID: "cents", Name: "out of tune", Unit: "cents", Min: -100, Max: 100, Neutral: 0}

// tuneLadder ends at what is heard in short melodies: 10 cents by amateurs
// (Hill & Summers 2007); a melody is called out of tune from 25 cents on
// (Larrouy-Maestri 2018).
var tuneLadder = dsp.Param{ID: "cents", Name: "out of tune", Unit: "cents", Min: 10, Max: 60, Neutral: 45, Scale: dsp.Log}

const tuneSource = "frequency difference heard in short melodies, 10 cents: T. Hill & I. Summers (2007); heard as out of tune, 25 cents: P. Larrouy-Maestri (2018)"

var tuned = drills.Fit{Stems: true, LeastPitched: 0.3, Roles: []drills.Role{
	drills.LeadVocal, drills.BackingVocal, drills.Bass, drills.Guitar, drills.Keys, drills.Synth, drills.Strings, drills.Brass, drills.Wind,
}}

var tuneAnswer = scale{
	param: tuneCents, key: "errorCents", near: 8,
	say: sharpOrFlat,
	off: over(unit(0, "cents"), "too sharp", "too flat"),
}

func sharpOrFlat(cents float64) string {
	switch {
	case cents > 0:
		return unit(0, "cents sharp")(cents)
	case cents < 0:
		return unit(0, "cents flat")(-cents)
	}
	return "in tune"
}

// detuned shifts a stem: a voice with its formants kept, anything else as a
// whole.
func detuned(c drills.Clip, on int, cents float64) ([]drills.Insert, error) {
	if cents == 0 {
		return nil, nil
	}
	spec := pitch.Shift
	if s := c.Stem(on); s != nil && slices.Contains(voices, s.Role) {
		spec = pitch.Voice
	}
	p, err := spec.New(c.Loop.RateHz, dsp.Setting{"cents": cents})
	return drills.OnStem(on, p), err
}

// tuning asks whether a stem is sharp or flat against the others, and by how
// much. What is called out of tune is a matter of style: an electronic
// arrangement forgives less than a band.
func tuning() drills.Tool {
	return drills.Tool{
		ID: "tune-cents", Title: "Sharp or flat", Type: "tuning",
		Doc:        "Hear whether one stem is sharp or flat against the others, and by how much; an electronic arrangement forgives less than a band.",
		Source:     tuneSource,
		Confusable: []string{"tune-layer"},
		Error:      tuneAnswer.key, Unit: "cents", Level: tuneLadder, OwnLadder: true,
		Rungs: []drills.Rung{
			{ID: "way", Title: "sharp or flat", Surface: drills.Cards},
			{ID: "free", Title: "by how many cents", Surface: drills.Ruler},
		},
		Params:       []dsp.Param{tuneCents},
		Fit:          tuned,
		NothingShare: usualNothing,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			size := d.Level
			if d.Rung.Surface == drills.Ruler {
				size = math.Round(size * (1 + 0.6*d.R.Float64()))
			}
			return dsp.Setting{tuneCents.ID: either(d, size, -size)}, nil
		},
		Choices: func(d drills.Draw, asked dsp.Setting) ([]drills.Choice, error) {
			if d.Rung.Surface == drills.Ruler {
				return nil, nil
			}
			size := math.Abs(asked.Get(tuneCents))
			return []drills.Choice{
				{Label: "sharp", Guess: dsp.Setting{tuneCents.ID: size}}, {Label: "flat", Guess: dsp.Setting{tuneCents.ID: -size}},
			}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return detuned(c, on, s.Get(tuneCents))
		},
		Question: func(d drills.Draw, _ dsp.Setting) string {
			if d.Rung.Surface == drills.Ruler {
				return "By how much is " + it(d) + " out of tune?"
			}
			return "Is " + it(d) + " sharp or flat?"
		},
		Read: tuneAnswer.Read, Grade: tuneAnswer.Grade, Tell: tuneAnswer.Tell,
		Region: upOrDown(tuneCents, "sharp", "flat"),
	}
}

// tuneLayer asks which stem of a few tuned ones is off.
func tuneLayer() drills.Tool {
	fit := tuned
	fit.Among = true
	return drills.Tool{
		ID: "tune-layer", Title: "Which layer is out of tune", Type: "tuning",
		Doc:        "Hear which layer of an arrangement is out of tune.",
		Source:     tuneSource,
		Confusable: []string{"tune-cents"},
		Error:      wrong, Unit: "of 1", Level: tuneLadder, OwnLadder: true,
		Rungs:  []drills.Rung{{ID: "three", Title: "one of three", Surface: drills.Stems}, {ID: "four", Title: "one of four", Surface: drills.Stems}},
		Params: []dsp.Param{stemNumber, tuneCents},
		Fit:    fit,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{stemNumber.ID: float64(d.On), tuneCents.ID: either(d, d.Level, -d.Level)}, among(d, fit, layers[d.Rung.ID])
		},
		Choices: func(d drills.Draw, _ dsp.Setting) ([]drills.Choice, error) {
			return offeredOf(d, fit, layers[d.Rung.ID])
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) > 0 {
				on = int(s.Get(stemNumber))
			}
			return detuned(c, on, s.Get(tuneCents))
		},
		Question: func(drills.Draw, dsp.Setting) string { return "Which stem is out of tune?" },
		Read:     stemAnswer.Read, Grade: stemAnswer.Grade, Tell: tellStem, Region: anywhere,
	}
}

// layers is how many stems a way to answer offers.
var layers = map[string]int{"three": 3, "four": 4, "five": 5, "six": 6}

// offeredOf are the stems among which one is meant, only those that suit.
func offeredOf(d drills.Draw, fit drills.Fit, n int) ([]drills.Choice, error) {
	targets, err := fit.Targets(d.Clip)
	if err != nil || len(targets) < n {
		return nil, errFewStems
	}
	numbers := []int{d.On}
	for _, on := range shuffled(d, targets) {
		if on != d.On && len(numbers) < n {
			numbers = append(numbers, on)
		}
	}
	slices.Sort(numbers)
	return stemChoices(d.Clip, numbers), nil
}

// makePitch has the engineer bring a stem back into tune.
func makePitch() drills.Tool {
	return drills.Tool{
		ID: "make-pitch", Title: "Bring it into tune", Type: "tuning",
		Doc:        "Bring a stem that is out of tune back: say the move first, then make it.",
		Source:     tuneSource,
		Confusable: []string{"tune-cents"},
		Error:      tuneAnswer.key, Unit: "cents", Level: tuneLadder, OwnLadder: true,
		Rungs:  []drills.Rung{{ID: "turn", Title: "a pitch knob", Surface: drills.Knobs}},
		Params: []dsp.Param{tuneCents},
		Fit:    tuned,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return dsp.Setting{tuneCents.ID: either(d, d.Level, -d.Level)}, nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			return detuned(c, on, -s.Get(tuneCents))
		},
		Mend: func(c drills.Clip, on int, truth, guess dsp.Setting) ([]drills.Insert, error) {
			return detuned(c, on, guess.Get(tuneCents)-truth.Get(tuneCents))
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Bring " + it(d) + " into tune." },
		Read:     readKnobs(tuneCents),
		Grade:    tuneAnswer.Grade,
		Tell: func(_ drills.Rung, truth, guess dsp.Setting) string {
			move := func(s dsp.Setting) string { return unit(0, "cents")(s.Get(tuneCents)) }
			if text, told := tellNothing(truth, guess, move); told {
				return text
			}
			return move(truth) + " bring it back; you turned to " + move(guess) + "."
		},
		Region: upOrDown(tuneCents, "up", "down"),
	}
}
