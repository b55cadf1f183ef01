package tools

import (
	"errors"
	"fmt"
	"math"

	"strop/drills"
	"strop/dsp"
	"strop/dsp/measure"
	"strop/dsp/space"
)

// onSpaces is what a space shows on: what leaves room to hear it.
var onSpaces = drills.Fit{Mix: true, Stems: true}

func seconds(v float64) string { return unit(1, "s")(v) }

// plateWith builds a plate with one setting given.
func plateWith(set dsp.Setting, id string) func(c drills.Clip, on int, v float64) (dsp.Processor, error) {
	return func(c drills.Clip, _ int, v float64) (dsp.Processor, error) {
		if id == "decayS" {
			v = limited(v, 0.5, 3)
		}
		return space.Plate.New(c.Loop.RateHz, set.With(id, v))
	}
}

// decayDrill asks for the decay time of a reverb. The truth is measured: T20
// in the octave of 1 kHz of what the reverb adds to the direct sound.
func decayDrill() drills.Tool {
	return settingDrill{
		id: "reverb-decay", title: "Decay time", kind: "space", doc: "Hear how long a reverb rings.",
		source:   "least difference 5 % in ISO 3382-1, Table A.1, but 18 to 25 % in music where it was measured again (M. Blevins et al. 2013)",
		question: "How long is the decay", confusable: "reverb-amount",
		param: dsp.Param{ID: "decayS", Name: "decay time", Unit: "s", Min: 0.3, Max: 4, Neutral: 1.2, Scale: dsp.Log},
		say:   seconds, more: "too long", less: "too short", near: 0.35,
		floor: drills.AtThreshold,
		hard:  1.25, easy: 2.2, start: 1.9, lo: 0.5, hi: 2.1,
		fit: onSpaces, build: plateWith(dsp.Setting{"drrDB": 2}, "decayS"),
		measure: func(m drills.Made, _ float64) (float64, error) {
			return decayAt1k(m.Inserts[0].Processor.(space.Reverberator).Response()[0][0], m.RateHz)
		},
	}.tool()
}

// decayAt1k is T20 in the octave of 1 kHz.
func decayAt1k(h []float64, rateHz float64) (float64, error) {
	octave, err := measure.OctaveDecayAt(h, rateHz, 1000)
	if err == nil && !(octave.T20S > 0) {
		err = errors.New("the reverb does not decay far enough to be measured")
	}
	return octave.T20S, err
}

// predelayDrill asks for the time before a reverb begins.
func predelayDrill() drills.Tool {
	return settingDrill{
		id: "reverb-predelay", title: "Pre-delay", kind: "space", doc: "Hear how long a reverb waits before it begins.",
		source:   "an echo of a piano is heard apart from 15 to 26 ms on, of speech from about 40: A. D. Brown, G. C. Stecker & D. J. Tollin, JARO 16 (2015)",
		question: "How long is the pre-delay", confusable: "reverb-amount",
		param: dsp.Param{ID: "predelayMS", Name: "pre-delay", Unit: "ms", Min: 0, Max: 160, Neutral: 0},
		say:   unit(0, "ms"), more: "too long", less: "too short", key: "errorMS", near: 18,
		floor: drills.AtThreshold,
		hard:  22, easy: 55, start: 50, lo: 0, hi: 140,
		fit: onSpaces, build: plateWith(dsp.Setting{"drrDB": 0, "decayS": 1}, "predelayMS"),
	}.tool()
}

// amountDrill asks how far the direct sound stands over the reverberation.
func amountDrill() drills.Tool {
	return settingDrill{
		id: "reverb-amount", title: "Amount of reverb", kind: "space", doc: "Hear how far the direct sound stands over the reverb.",
		source:   "least difference of the direct-to-reverberant ratio, 2 to 3 dB: E. Larsen et al., JASA 124 (2008)",
		question: "How far does the direct sound stand over the reverb", confusable: "reverb-decay",
		param: dsp.Param{ID: "drrDB", Name: "direct-to-reverberant ratio", Unit: "dB", Min: -12, Max: 24, Neutral: 24},
		say:   dsp.FormatDB, more: "too dry", less: "too wet", key: "errorDB", near: 3,
		floor: drills.AtThreshold,
		hard:  2.5, easy: 9, start: 8, lo: -5, hi: 15,
		fit: onSpaces, build: plateWith(dsp.Setting{"decayS": 1.2}, "drrDB"),
	}.tool()
}

// dampingDrill asks how much sooner the treble of a reverb dies away.
func dampingDrill() drills.Tool {
	return settingDrill{
		id: "reverb-damping", title: "Damping", kind: "space", doc: "Hear how dark a reverb is: by how much sooner its treble dies away.",
		source: stepsSource, question: "How long does the treble ring beside the middle", confusable: "reverb-decay",
		param: dsp.Param{ID: "trebleRatio", Name: "decay of the treble beside the middle", Unit: ":1", Min: 0.25, Max: 1, Neutral: 0.5, Scale: dsp.Log},
		say:   unit(2, "times as long"), more: "too bright", less: "too dark", near: 0.4,
		hard: 1.35, easy: 1.95, start: 1.8, lo: 0.27, hi: 0.95,
		fit: onSpaces,
		build: func(c drills.Clip, _ int, v float64) (dsp.Processor, error) {
			return space.Hall.New(c.Loop.RateHz, dsp.Setting{"decayS": 1.2, "drrDB": 0, "trebleRatio": v})
		},
	}.tool()
}

var spaceNumber = dsp.Param{ID: "space", Name: "space", Min: 1, Max: 5, Neutral: 1, Scale: dsp.Whole}

var spaces = []struct {
	name string
	spec func() dsp.Spec
}{
	{"a room", func() dsp.Spec { return space.Room }},
	{"a chamber", func() dsp.Spec { return space.Chamber }},
	{"a hall", func() dsp.Spec { return space.Hall }},
	{"a plate", func() dsp.Spec { return space.Plate }},
	{"a spring", func() dsp.Spec { return space.Spring }},
}

var spaceAnswer = cards{params: []dsp.Param{spaceNumber}, say: func(s dsp.Setting) string { return spaces[int(s.Get(spaceNumber))-1].name }}

// spaceKind asks which kind of space a sound was put into, all of one decay.
func spaceKind() drills.Tool {
	var choices []drills.Choice
	for i, s := range spaces {
		choices = append(choices, drills.Choice{Label: s.name, Guess: dsp.Setting{spaceNumber.ID: float64(i + 1)}})
	}
	return drills.Tool{
		ID: "reverb-kind", Title: "Kind of space", Type: "space",
		Doc:    "Tell room, chamber, hall, plate and spring apart, all ringing as long.",
		Source: stepsSource, Confusable: []string{"reverb-damping"},
		Error: wrong, Unit: "of 1",
		Level: dsp.Param{ID: "reverbDB", Name: "reverberation to direct sound", Unit: "dB", Min: -22, Max: 6, Neutral: 2},
		Rungs: []drills.Rung{
			{ID: "three", Title: "room, plate or spring", Surface: drills.Cards, Choices: []drills.Choice{choices[0], choices[3], choices[4]}},
			{ID: "five", Title: "one of five", Surface: drills.Cards, Choices: choices},
		},
		Params: []dsp.Param{spaceNumber, roomDRR},
		Fit:    onSpaces,
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			return d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))].Guess.With(roomDRR.ID, -d.Level), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := spaces[int(s.Get(spaceNumber))-1].spec().New(c.Loop.RateHz, dsp.Setting{"decayS": 1.5, "drrDB": s.Get(roomDRR)})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Into which space was " + it(d) + " put?" },
		Read:     spaceAnswer.Read, Grade: spaceAnswer.Grade, Tell: spaceAnswer.Tell,
		Region: func(truth dsp.Setting) string { return spaceAnswer.say(truth) },
	}
}

// echoDrill asks for the time of an echo.
func echoDrill() drills.Tool {
	return settingDrill{
		id: "echo-time", title: "Echo time", kind: "space", doc: "Hear how long an echo takes.",
		source:   "echoes of music fuse up to 15 to 40 ms: A. D. Brown, G. C. Stecker & D. J. Tollin, JARO 16 (2015); one interval of time is told from another from 6 %: C. Drake & M.-C. Botte, Perception & Psychophysics 54 (1993), from memory",
		question: "How long does the echo take", confusable: "echo-note",
		param: dsp.Param{ID: "timeMS", Name: "echo time", Unit: "ms", Min: 40, Max: 1500, Neutral: 300, Scale: dsp.Log},
		say:   unit(0, "ms"), more: "too long", less: "too short", near: 0.25,
		floor: drills.AtThreshold,
		hard:  1.1, easy: 2, start: 1.7, lo: 90, hi: 800,
		fit: drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.3},
		build: func(c drills.Clip, _ int, v float64) (dsp.Processor, error) {
			return space.Echo.New(c.Loop.RateHz, dsp.Setting{"timeMS": v, "feedbackPct": 25, "echoDB": -4})
		},
	}.tool()
}

// feedbackDrill asks how much of an echo is fed back.
func feedbackDrill() drills.Tool {
	return settingDrill{
		id: "echo-feedback", title: "Echo feedback", kind: "space", doc: "Hear how much of an echo is fed back.",
		source: stepsSource, question: "How much of the echo is fed back", confusable: "echo-time",
		param: dsp.Param{ID: "feedbackPct", Name: "feedback", Unit: "%", Min: 0, Max: 90, Neutral: 30},
		say:   unit(0, "%"), more: "too much", less: "too little", key: "errorPct", near: 12,
		hard: 15, easy: 35, start: 32, lo: 5, hi: 80,
		fit: drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.3},
		build: func(c drills.Clip, _ int, v float64) (dsp.Processor, error) {
			return space.Echo.New(c.Loop.RateHz, dsp.Setting{"timeMS": 280, "feedbackPct": v, "echoDB": -5})
		},
	}.tool()
}

// noteBeats is the time of an echo in beats, as a note value.
var noteBeats = dsp.Param{ID: "beats", Name: "note value", Min: 0.125, Max: 4, Neutral: 1, Scale: dsp.Log}

var notes = []drills.Choice{
	{Label: "a sixteenth", Guess: dsp.Setting{noteBeats.ID: 0.25}},
	{Label: "an eighth", Guess: dsp.Setting{noteBeats.ID: 0.5}},
	{Label: "a dotted eighth", Guess: dsp.Setting{noteBeats.ID: 0.75}},
	{Label: "a quarter", Guess: dsp.Setting{noteBeats.ID: 1}},
	{Label: "a dotted quarter", Guess: dsp.Setting{noteBeats.ID: 1.5}},
}

var noteAnswer = cards{params: []dsp.Param{noteBeats}, say: func(s dsp.Setting) string {
	for _, n := range notes {
		if math.Abs(n.Guess.Get(noteBeats)-s.Get(noteBeats)) < 1e-9 {
			return n.Label
		}
	}
	return fmt.Sprintf("%g beats", s.Get(noteBeats))
}}

// echoNote asks which note value an echo has, against the beat of the loop.
func echoNote() drills.Tool {
	return drills.Tool{
		ID: "echo-note", Title: "Echo as a note value", Type: "space",
		Doc:    "Hear which note value an echo has, against the beat.",
		Source: stepsSource, Confusable: []string{"echo-time"},
		Error: wrong, Unit: "of 1",
		Level: dsp.Param{ID: "echoDB", Name: "level of the echo", Unit: "dB", Min: -18, Max: -1, Neutral: -4},
		Rungs: []drills.Rung{
			{ID: "three", Title: "an eighth, a dotted eighth, a quarter", Surface: drills.Cards, Choices: notes[1:4]},
			{ID: "five", Title: "one of five", Surface: drills.Cards, Choices: notes},
		},
		Params: []dsp.Param{noteBeats, {ID: "tempoBPM", Name: "tempo", Unit: "BPM", Min: 40, Max: 240, Neutral: 120}, {ID: "echoDB", Name: "level", Unit: "dB", Min: -96, Max: 0, Neutral: -96}},
		Fit:    drills.Fit{Mix: true, Stems: true, LeastOnsetsPerS: 0.3},
		Ask: func(d drills.Draw) (dsp.Setting, error) {
			tempo := d.Clip.Beats.TempoBPM
			if tempo < 40 || tempo > 240 {
				return nil, fmt.Errorf("the loop has no tempo that is known")
			}
			s := d.Rung.Choices[d.R.IntN(len(d.Rung.Choices))].Guess
			return s.With("tempoBPM", tempo).With("echoDB", d.Level), nil
		},
		Change: func(c drills.Clip, on int, s dsp.Setting) ([]drills.Insert, error) {
			if len(s) == 0 {
				return nil, nil
			}
			p, err := space.Echo.New(c.Loop.RateHz, dsp.Setting{"beats": s.Get(noteBeats), "tempoBPM": s["tempoBPM"], "feedbackPct": 20, "echoDB": s["echoDB"]})
			return drills.OnStem(on, p), err
		},
		Question: func(d drills.Draw, _ dsp.Setting) string { return "Which note value has the echo" + on(d) + "?" },
		Read:     noteAnswer.Read, Grade: noteAnswer.Grade, Tell: noteAnswer.Tell,
		Region: func(truth dsp.Setting) string { return noteAnswer.say(truth) },
	}
}
