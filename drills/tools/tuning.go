package tools

import (
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

// outOfTune is a stem that is sharp or flat. What is called out of tune is a
// matter of style: an electronic arrangement forgives less than a band.
var outOfTune = offDrill{
	kind: "tuning", source: tuneSource, answer: tuneAnswer, ladder: tuneLadder, fit: tuned,
	ways: [2]string{"sharp", "flat"}, spread: 0.6, insert: detuned,
}

// tuning asks whether a stem is sharp or flat against the others, and by how
// much.
func tuning() drills.Tool {
	return outOfTune.amount(drills.Tool{
		ID: "tune-cents", Title: "Sharp or flat", Confusable: []string{"tune-layer"},
		Doc: "Hear whether one stem is sharp or flat against the others, and by how much; an electronic arrangement forgives less than a band.",
	}, "out of tune", "sharp or flat")
}

// tuneLayer asks which stem of a few tuned ones is off.
func tuneLayer() drills.Tool {
	return outOfTune.layer(drills.Tool{
		ID: "tune-layer", Title: "Which layer is out of tune", Confusable: []string{"tune-cents"},
		Doc: "Hear which layer of an arrangement is out of tune.",
	}, "Which stem is out of tune?", "three", "four")
}

// makePitch has the engineer bring a stem back into tune.
func makePitch() drills.Tool {
	return drills.Tool{
		ID: "make-pitch", Title: "Bring it into tune", Type: "tuning",
		Doc:        "Bring a stem that is out of tune back: say the move first, then make it.",
		Source:     tuneSource,
		Confusable: []string{"tune-cents"},
		Error:      tuneAnswer.key, Unit: "cents", Level: tuneLadder, OwnLadder: true, Floor: drills.AtThreshold, Near: within(tuneAnswer.near),
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
