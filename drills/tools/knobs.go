package tools

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"strop/drills"
	"strop/dsp"
)

// readKnobs reads the knobs of a tool that is turned, and the move that is
// meant before it is touched:
//
//	400 -3                    values in the order of params
//	gainDB=-3 freqHz=400      in any order
//	cut about 3 dB near 400   a value with its unit finds its knob; "cut",
//	                          "left" and their like turn down the knob that
//	                          goes both ways
//
// What is left out stays at its neutral value or, where it is no question of
// the drill, as asked.
func readKnobs(params ...dsp.Param) func(drills.Rung, dsp.Setting, string) (dsp.Setting, error) {
	return func(_ drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
		s := dsp.Setting{}
		maps.Copy(s, asked)
		for _, p := range params {
			s[p.ID] = p.Neutral
		}
		way, words := spoken(params, text)
		if len(words) == 0 || len(words) > len(params) {
			return nil, fmt.Errorf("give %s", knobNames(params))
		}
		free := slices.Clone(params)
		for _, word := range words {
			p, value, err := knobFor(params, free, word)
			if err != nil {
				return nil, err
			}
			if p.Min < 0 && p.Max > 0 && way < 0 && !strings.HasPrefix(value, "-") {
				value = "-" + value
			}
			v, err := parse(value, p)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", p.Name, err)
			}
			s[p.ID] = v
			free = slices.DeleteFunc(free, func(q dsp.Param) bool { return q.ID == p.ID })
		}
		return s, nil
	}
}

// Words of a move, as a person says it.
var (
	downWords = strings.Fields("cut lower lowered down softer less left sooner earlier narrower flat")
	upWords   = strings.Fields("boost raise raised up louder more right later wider sharp")
	smallTalk = strings.Fields("about near at around by to of the and with some roughly it a turn move")
)

// spoken is what is left of a move without the words that a sentence needs:
// which way it goes, and its values, each with its unit or its knob's name.
func spoken(params []dsp.Param, text string) (way int, words []string) {
	text = strings.NewReplacer(" =", "=", "= ", "=", "−", "-", ", ", " ").Replace(strings.ToLower(text))
	named := ""
	for _, word := range strings.Fields(text) {
		switch {
		case slices.Contains(smallTalk, word):
		case slices.Contains(downWords, word):
			way = -1
		case slices.Contains(upWords, word):
			way = 1
		case len(words) > 0 && unitWord(params, word) && bare(words[len(words)-1]):
			words[len(words)-1] += word
		case knobCalled(params, word) != "":
			named = knobCalled(params, word) + "="
		default:
			words = append(words, named+word)
			named = ""
		}
	}
	return way, words
}

// bare reports whether a word is a number without a unit.
func bare(word string) bool { return strings.ContainsAny(word[len(word)-1:], "0123456789") }

func unitWord(params []dsp.Param, word string) bool {
	return word == "khz" || word == "s" || slices.ContainsFunc(params, func(p dsp.Param) bool { return strings.EqualFold(p.Unit, word) })
}

// knobCalled is the ID of the knob of that name, "" where it is none.
func knobCalled(params []dsp.Param, word string) string {
	for _, p := range params {
		if strings.EqualFold(p.Name, word) || strings.EqualFold(p.ID, word) {
			return p.ID
		}
	}
	return ""
}

// knobFor is the knob that a word is for: the one it names, the one of its
// unit, or the first that has no value yet.
func knobFor(params, free []dsp.Param, word string) (dsp.Param, string, error) {
	if id, value, named := strings.Cut(word, "="); named {
		p, err := knob(params, id)
		return p, value, err
	}
	for _, p := range free {
		unit := strings.ToLower(p.Unit)
		if unit != "" && strings.HasSuffix(word, unit) || unit == "hz" && strings.HasSuffix(word, "k") {
			return p, word, nil
		}
	}
	if len(free) == 0 {
		return dsp.Param{}, "", fmt.Errorf("give %s", knobNames(params))
	}
	return free[0], word, nil
}

func knob(params []dsp.Param, id string) (dsp.Param, error) {
	for _, p := range params {
		if strings.EqualFold(p.ID, id) {
			return p, nil
		}
	}
	return dsp.Param{}, fmt.Errorf("there is no %q; give %s", id, knobNames(params))
}

func knobNames(params []dsp.Param) string {
	names := make([]string, len(params))
	for i, p := range params {
		names[i] = strings.TrimSpace(p.Name + " in " + unitName(p.Unit))
	}
	return strings.Join(names, ", then ")
}
