package demo

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A score is a song as text, one statement a line; # and a space begin a line
// of comment:
//
//	title   Kettle Weather         what people call it
//	doc     drums, bass, strums    one sentence for whoever looks for material
//	style   band
//	key     a minor
//	tempo   104 98 110             beats a minute as written, and from slowest to fastest take
//	shift   -2 2                   semitones by which takes are moved
//	beats   4                      in a bar
//	swing   12                     per cent of a sixteenth by which every second one comes late
//	seed    11                     of the take as written
//	use     kit                    puts in the lines of sets/kit.txt here
//
//	room    5 7 3 0.4              width, depth, height in metres; decay time in s
//	source  bass notes choke at 2 3 0.6 level -8
//	sound   e1 cents -8 pitched/acoustic_bass_e2.flac
//	mic     Bass_Mic of bass at 2 2.6 0.6 role bass pair bass peak -12 mix -26
//
//	part    verse
//	bass    a1 . . a1 | g1 . f1 -
//	form    verse verse/bridge
//
// A source plays: hits are sounds by their names, the others play notes, of
// which c4 is middle C. notes takes the nearest sound faster or slower,
// string is a plucked waveguide, synth an oscillator, voice syllables of a
// woman. An amp is a source too, fed by another one. See sourceScore.
//
// A source that has a place stands in the room above it. A microphone stands
// in the room of its source, and hears all sources there. A line hears its
// source alone, without room or distance. Both are stems; _ in a name becomes
// a space. See stemScore.
//
// A sound has a name, how many cents its recording is sharp, for a chord its
// notes, and one file or more, of which chance takes one:
//
//	sound   a cents 9 chord a2+e3+a3+c4+e4 strums/aminordown2.flac
//
// Below a part, a line is a source and its bars. The tokens of a bar divide
// it into equal steps: . rests, - holds the note before, + joins notes into a
// chord, ! after a note accents it, ? softens it, ~ after all leaves it to
// chance. A voice has its syllable after a slash: a4/sh-a. A source with
// fewer bars than the part repeats them. Parts with / between are alternatives
// among which takes choose; the take as written has the first.
type score struct {
	title, doc, style string
	key               Key
	tempo             [3]float64 // as written, slowest, fastest
	shift             [2]int     // lowest, highest
	beats             int
	swing             float64
	seed              uint64
	rooms             []*roomScore
	sources           []*sourceScore
	stems             []*stemScore
	parts             map[string]map[string][]bar // by part, by source
	form              []string
	sets              []string // that it uses
	syllables         []string // of the bank, by path
}

// roomScore is a room and what stands in it.
type roomScore struct {
	size    place // its far corner, in metres; the near one is 0 0 0
	decayS  float64
	sources []*sourceScore
	mics    []*stemScore
}

// sourceScore is what makes a sound.
//
//	level    peak at one metre, in dB                          0
//	loose    standard deviation of its timing, in ms           4
//	choke    a note ends the one before it
//	pedal    notes end with their bar
//	tuned    hits move with the key of the take
//	off      how far its notes may lie from the score, in cents    2
//	plays    the source whose bars it plays where it has none
//	same     played by the same hands at the same time
//	side     1 or 2: that channel of its recordings alone      both
type sourceScore struct {
	name     string
	kind     string // hits, notes, string, synth, voice, amp
	plays    string
	choke    bool
	pedal    bool
	tuned    bool
	same     bool
	side     float64
	levelDB  float64
	looseMS  float64
	offCents float64
	at       place
	sounds   []sound
	str      stringScore
	synth    synthScore
	voice    voiceScore
	amp      ampScore
	room     *roomScore // nil outside of one
}

// stemScore is a microphone or a line, and what becomes of it.
//
//	of       the source it is meant for
//	side     1 or 2: that channel of it alone                  both
//	aim      the point it looks at                             its source
//	pattern  omni, cardioid, hyper or eight                    cardioid
//	inverted looks at its source from behind, or is wired so
//	role     see Role
//	pair     stems with the same word belong together; two on opposite sides
//	         have the same gain
//	peak     dBFS                                              -10
//	floor    noise, in dBFS                                    -76
//	hum      from the mains, in dBFS                           none
//	mix, pan loudness in LUFS and place in the rough mix       -26, 0
type stemScore struct {
	name     string
	mic      bool
	of       *sourceScore
	side     float64
	at, aim  place
	pattern  string
	inverted bool
	role     string
	pair     string
	peakDB   float64
	floorDB  float64
	humDB    float64
	mixLUFS  float64
	pan      float64
}

type sound struct {
	name    string
	note    float64   // of a tuned one: the MIDI note number of the recording; of a hit, what it is sharp
	chord   []float64 // MIDI note numbers of a hit that has notes
	samples []string
}

type bar []string // tokens

// bars is how many bars a part has: those of its longest line.
func (s *score) bars(part string) (n int) {
	for _, b := range s.parts[part] {
		n = max(n, len(b))
	}
	return n
}

// source is the source of that name, nil where there is none.
func (s *score) source(name string) *sourceScore {
	if i := slices.IndexFunc(s.sources, func(src *sourceScore) bool { return src.name == name }); i >= 0 {
		return s.sources[i]
	}
	return nil
}

// limitHz is where the recordings of a source end, 0 where they do not.
func (src *sourceScore) limitHz() float64 {
	if src.kind == "voice" {
		return bankLimitsHz["voice"]
	}
	limitHz := 0.0
	for _, snd := range src.sounds {
		for _, path := range snd.samples {
			limitHz = max(limitHz, bankLimitHz(path))
		}
	}
	return limitHz
}

// token is one word of a bar, taken apart.
type token struct {
	names   []string
	word    string // the syllable
	accent  float64
	soft    bool
	perhaps bool
}

// How loud notes are, in dB.
const (
	accentDB = 0
	plainDB  = -3
	softDB   = -9
)

func parseToken(text string) (t token) {
	t.accent = plainDB
	text, t.perhaps = strings.CutSuffix(text, "~")
	if name, ok := strings.CutSuffix(text, "!"); ok {
		text, t.accent = name, accentDB
	} else if name, ok := strings.CutSuffix(text, "?"); ok {
		text, t.accent, t.soft = name, softDB, true
	}
	text, t.word, _ = strings.Cut(text, "/")
	t.names = strings.Split(text, "+")
	return t
}

// check reports whether the source can play a token.
func (src *sourceScore) check(text string) error {
	if text == "." || text == "-" {
		return nil
	}
	t := parseToken(text)
	for _, name := range t.names {
		var err error
		switch src.kind {
		case "hits", "notes":
			_, _, err = src.find(name, 0)
		case "amp":
			err = fmt.Errorf("%s is an amplifier: write the notes of what feeds it", src.name)
		default:
			_, err = parseNote(name)
		}
		if err != nil {
			return err
		}
	}
	if src.kind == "voice" && !isSyllable(t.word) {
		return fmt.Errorf("%s sings no %q; write a note and a syllable of the bank, like a4/l-a", src.name, t.word)
	}
	return nil
}

// find is the sound for a name shift semitones up, and how fast it is to be
// played.
func (src *sourceScore) find(name string, shift float64) (best sound, rate float64, err error) {
	if src.kind == "hits" {
		i := slices.IndexFunc(src.sounds, func(s sound) bool { return s.name == name })
		if i < 0 {
			return best, 0, fmt.Errorf("%s has no sound %q", src.name, name)
		}
		return src.sounds[i], math.Exp2((shift - src.sounds[i].note) / 12), nil
	}
	key, err := parseNote(name)
	if err != nil {
		return best, 0, err
	}
	best, err = src.nearest(key + shift)
	if err != nil {
		return best, 0, fmt.Errorf("%s has no sound within an octave of %s", src.name, name)
	}
	return best, math.Exp2((key + shift - best.note) / 12), nil
}

// nearest is the sound nearest to a key. A key halfway takes the lower one.
func (src *sourceScore) nearest(key float64) (best sound, err error) {
	for _, s := range src.sounds {
		if best.name == "" || math.Abs(s.note-key) < math.Abs(best.note-key) {
			best = s
		}
	}
	if best.name == "" || math.Abs(best.note-key) > 13 {
		return best, fmt.Errorf("there is no sound near %g", key)
	}
	return best, nil
}

// inTuneCents is how far what is meant to be in tune lies from the score at
// most, if its source does not say otherwise. Our own choice.
const inTuneCents = 2

// parseChord reads the notes of a chord, none from "".
func parseChord(text string) (keys []float64, err error) {
	for _, name := range strings.FieldsFunc(text, func(r rune) bool { return r == '+' }) {
		key, err := parseNote(name)
		if err != nil {
			return nil, err
		}
		keys = append(keys, key)
	}
	return keys, nil
}

var noteSteps = map[byte]float64{'c': 0, 'd': 2, 'e': 4, 'f': 5, 'g': 7, 'a': 9, 'b': 11}

// parseNote reads c4, f#3, bb2 as MIDI note numbers: 60, 54, 46.
func parseNote(text string) (float64, error) {
	bad := fmt.Errorf("%q is not a note; write it like c4, f#3 or bb2", text)
	if len(text) < 2 {
		return 0, bad
	}
	key, ok := noteSteps[text[0]]
	rest := text[1:]
	switch {
	case strings.HasPrefix(rest, "#"):
		key, rest = key+1, rest[1:]
	case strings.HasPrefix(rest, "b"):
		key, rest = key-1, rest[1:]
	}
	octave, err := strconv.Atoi(rest)
	if !ok || err != nil || octave < 0 || octave > 9 {
		return 0, bad
	}
	return key + 12*float64(octave+1), nil
}
