package demo

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A score is a song as text, one statement a line, # begins a comment:
//
//	title   Kettle Weather        what people call it
//	tempo   104                   beats a minute
//	beats   4                     in a bar
//	seed    11                    of everything left to chance
//	stem    bass pitched choke level -24 pan 0 room -30 floor -80
//	sound   e1 pitched/acoustic_bass_e2.flac
//	part    verse
//	bass    a1 . . a1 | g1 . f1 -
//	form    verse verse
//
// A stem is loud by level, in LUFS before the whole is set; it stands at pan,
// -1 left to 1 right; sends to the room by room, in dB; and never falls
// below its noise floor, in dB. pitched: tokens are notes, c4 is middle C,
// and the nearest sound is played faster or slower; else they name sounds.
// choke: a note damps the one before it.
//
// A sound has a name and one sample or more, of which chance takes one.
//
// Below a part, a line is a stem and its bars. The tokens of a bar divide it
// into equal steps: . rests, - holds the note before, + joins notes into a
// chord, ! after a note accents it and ? softens it. A stem that has fewer
// bars than the part repeats them.
type score struct {
	title string
	tempo float64
	beats int
	seed  uint64
	stems []stemScore
	parts map[string]map[string][]bar // by part, by stem
	form  []string
}

type stemScore struct {
	name    string
	pitched bool
	choke   bool
	levelDB float64
	pan     float64
	roomDB  float64
	floorDB float64
	sounds  []sound
}

type sound struct {
	name    string
	note    float64 // of a pitched one, as a MIDI note number
	samples []string
}

type bar []string // tokens

// parseScore reads a score. An error names its line.
func parseScore(r io.Reader) (*score, error) {
	s := &score{parts: map[string]map[string][]bar{}}
	part := ""
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		text, _, _ := strings.Cut(lines.Text(), "# ")
		words := strings.Fields(text)
		if len(words) == 0 || words[0] == "#" {
			continue
		}
		if words[0] == "part" && len(words) == 2 {
			part = words[1]
			s.parts[part] = map[string][]bar{}
			continue
		}
		if err := s.statement(part, words); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
	}
	return s, cmp.Or(lines.Err(), s.check())
}

func (s *score) statement(part string, words []string) (err error) {
	rest := words[1:]
	if len(rest) == 0 {
		return fmt.Errorf("%s says nothing", words[0])
	}
	switch words[0] {
	case "title":
		s.title = strings.Join(rest, " ")
	case "tempo":
		s.tempo, err = strconv.ParseFloat(rest[0], 64)
	case "beats":
		s.beats, err = strconv.Atoi(rest[0])
	case "seed":
		s.seed, err = strconv.ParseUint(rest[0], 10, 64)
	case "stem":
		return s.addStem(rest)
	case "sound":
		return s.addSound(rest)
	case "form":
		s.form = rest
	default:
		return s.addBars(part, words[0], rest)
	}
	return err
}

func (s *score) addStem(words []string) error {
	st := stemScore{name: words[0], levelDB: -30, roomDB: math.Inf(-1), floorDB: -80}
	figures := map[string]*float64{"level": &st.levelDB, "pan": &st.pan, "room": &st.roomDB, "floor": &st.floorDB}
	for i := 1; i < len(words); i++ {
		switch figure, ok := figures[words[i]]; {
		case words[i] == "pitched":
			st.pitched = true
		case words[i] == "choke":
			st.choke = true
		case !ok || i+1 == len(words):
			return fmt.Errorf("a stem knows pitched, choke, level, pan, room and floor, not %q", words[i])
		default:
			v, err := strconv.ParseFloat(words[i+1], 64)
			if err != nil {
				return fmt.Errorf("%s %s is not a number", words[i], words[i+1])
			}
			*figure = v
			i++
		}
	}
	s.stems = append(s.stems, st)
	return nil
}

func (s *score) addSound(words []string) (err error) {
	if len(s.stems) == 0 || len(words) < 2 {
		return fmt.Errorf("a sound needs a stem before it, a name and a sample")
	}
	st := &s.stems[len(s.stems)-1]
	snd := sound{name: words[0], samples: words[1:]}
	if st.pitched {
		snd.note, err = parseNote(words[0])
	}
	st.sounds = append(st.sounds, snd)
	return err
}

func (s *score) addBars(part, stem string, words []string) error {
	i := slices.IndexFunc(s.stems, func(st stemScore) bool { return st.name == stem })
	if i < 0 || part == "" {
		return fmt.Errorf("%q is neither a statement nor, below a part, a stem", stem)
	}
	for _, text := range strings.Split(strings.Join(words, " "), "|") {
		b := bar(strings.Fields(text))
		if len(b) == 0 {
			return fmt.Errorf("%s: a bar is empty: write a rest as a dot", stem)
		}
		for _, token := range b {
			if _, err := s.stems[i].notes(token); err != nil {
				return err
			}
		}
		s.parts[part][stem] = append(s.parts[part][stem], b)
	}
	return nil
}

func (s *score) check() error {
	switch {
	case !(s.tempo >= 20 && s.tempo <= 400) || s.beats < 1 || s.beats > 32:
		return fmt.Errorf("a score needs a tempo of 20 to 400 and 1 to 32 beats in a bar")
	case s.title == "" || len(s.form) == 0:
		return fmt.Errorf("a score needs a title and a form")
	}
	for _, part := range s.form {
		if s.parts[part] == nil {
			return fmt.Errorf("the form names part %s, which is not there", part)
		}
	}
	return nil
}

// note is one sound to be played.
type note struct {
	sound   sound
	rate    float64 // of playing
	levelDB float64 // of an accent
}

// notes are what a token plays: nothing for a rest or a hold.
func (st stemScore) notes(token string) ([]note, error) {
	if token == "." || token == "-" {
		return nil, nil
	}
	levelDB := -3.0
	if name, ok := strings.CutSuffix(token, "!"); ok {
		token, levelDB = name, 0
	} else if name, ok := strings.CutSuffix(token, "?"); ok {
		token, levelDB = name, -9
	}
	var notes []note
	for name := range strings.SplitSeq(token, "+") {
		snd, rate, err := st.find(name)
		if err != nil {
			return nil, err
		}
		notes = append(notes, note{snd, rate, levelDB})
	}
	return notes, nil
}

// find is the sound for a name, and how fast it is to be played.
func (st stemScore) find(name string) (best sound, rate float64, err error) {
	if !st.pitched {
		i := slices.IndexFunc(st.sounds, func(s sound) bool { return s.name == name })
		if i < 0 {
			return best, 0, fmt.Errorf("stem %s has no sound %q", st.name, name)
		}
		return st.sounds[i], 1, nil
	}
	key, err := parseNote(name)
	if err != nil {
		return best, 0, err
	}
	for _, s := range st.sounds {
		if best.name == "" || math.Abs(s.note-key) < math.Abs(best.note-key) {
			best = s
		}
	}
	if best.name == "" || math.Abs(best.note-key) > 12 {
		return best, 0, fmt.Errorf("stem %s has no sound within an octave of %s", st.name, name)
	}
	return best, math.Exp2((key - best.note) / 12), nil
}

// parseNote reads c4, f#3, bb2 as MIDI note numbers: 60, 54, 46.
func parseNote(text string) (float64, error) {
	bad := fmt.Errorf("%q is not a note; write it like c4, f#3 or bb2", text)
	steps := map[byte]float64{'c': 0, 'd': 2, 'e': 4, 'f': 5, 'g': 7, 'a': 9, 'b': 11}
	if len(text) < 2 {
		return 0, bad
	}
	key, ok := steps[text[0]]
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
