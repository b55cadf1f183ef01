package rack

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"strop/dsp"
)

// Parse reads a change written as
//
//	peak freqHz=2k5 gainDB=-6 q=1.4 on lead vocal
//
// the processor's ID, then values of its parameters in any order, then, after
// the word on, the stem or group it is applied to; without it, the whole mix.
// A parameter left out keeps its neutral value. Values may be written as
// engineers write them: with a decimal comma, with their unit ("-6dB"), a
// frequency as dsp.ParseHz reads it. A name that begins or ends in a space, or
// has a line break, is quoted as in Go.
//
// The error is one sentence that says what there is instead. It covers what
// the declared range allows, not what a sample rate allows.
func Parse(text string) (dsp.Change, error) {
	head, where, on := cutOn(text)
	words := strings.Fields(head)
	if len(words) == 0 {
		return dsp.Change{}, fmt.Errorf("a change begins with the name of a processor, like %q", "peak freqHz=1k gainDB=6")
	}
	spec, err := find(words[0])
	if err != nil {
		return dsp.Change{}, err
	}
	c := dsp.Change{Processor: spec.ID, Setting: dsp.Setting{}}
	for _, word := range words[1:] {
		if err := parseValue(c.Setting, spec, word); err != nil {
			return dsp.Change{}, err
		}
	}
	if err := c.Setting.Check(spec.Params); err != nil {
		return dsp.Change{}, fmt.Errorf("%s: %w", spec.ID, err)
	}
	if !on {
		return c, nil
	}
	if c.Where, err = parseWhere(where); err != nil {
		return dsp.Change{}, err
	}
	return c, nil
}

// cutOn cuts text at its first word "on".
func cutOn(text string) (head, where string, on bool) {
	at := 0
	for word := range strings.FieldsSeq(text) {
		start := at + strings.Index(text[at:], word)
		at = start + len(word)
		if word == "on" {
			return text[:start], strings.TrimSpace(text[at:]), true
		}
	}
	return text, "", false
}

func parseValue(set dsp.Setting, spec dsp.Spec, word string) error {
	id, text, ok := strings.Cut(word, "=")
	if !ok {
		return fmt.Errorf("%s: %q is not a value; write values like gainDB=-6", spec.ID, word)
	}
	if _, twice := set[id]; twice {
		return fmt.Errorf("%s: %s is given twice", spec.ID, id)
	}
	i := slices.IndexFunc(spec.Params, func(p dsp.Param) bool { return p.ID == id })
	if i < 0 {
		return dsp.Setting{id: 0}.Check(spec.Params) // says what parameters there are
	}
	v, err := parseNumber(text, spec.Params[i].Unit)
	if err != nil {
		return fmt.Errorf("%s: %s: %w", spec.ID, id, err)
	}
	set[id] = v
	return nil
}

// parseNumber reads a value that may carry its unit.
func parseNumber(text, unit string) (float64, error) {
	t := strings.NewReplacer(",", ".", "−", "-").Replace(text)
	if n := len(t) - len(unit); n > 0 && strings.EqualFold(t[n:], unit) {
		t = t[:n]
	}
	if strings.Trim(t, "0123456789.+-eE") == "" {
		if v, err := strconv.ParseFloat(t, 64); err == nil {
			return v, nil
		}
	}
	if unit == "Hz" {
		return dsp.ParseHz(text)
	}
	return 0, fmt.Errorf("%q is not a number", text)
}

func parseWhere(text string) (string, error) {
	if strings.HasPrefix(text, `"`) {
		name, err := strconv.Unquote(text)
		if err != nil || name == "" {
			return "", fmt.Errorf("%s is not a quoted name", text)
		}
		return name, nil
	}
	if text == "" {
		return "", fmt.Errorf("after the word on stands the name of a stem or a group")
	}
	return text, nil
}

// Text writes c on one line that Parse reads back: the values that its setting
// gives, in the order of the parameters, as the shortest exact numbers.
// Values that the processor does not know come last, by ID.
func Text(c dsp.Change) string {
	words := []string{c.Processor}
	left := maps.Clone(c.Setting)
	spec, _ := Find(c.Processor)
	for _, p := range spec.Params {
		if v, ok := left[p.ID]; ok {
			words = append(words, valueText(p.ID, v))
			delete(left, p.ID)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(left)) {
		words = append(words, valueText(id, left[id]))
	}
	if c.Where != "" {
		words = append(words, "on", whereText(c.Where))
	}
	return strings.Join(words, " ")
}

func valueText(id string, v float64) string {
	return id + "=" + strconv.FormatFloat(v, 'f', -1, 64)
}

// whereText quotes a name that would not come back as it is.
func whereText(name string) string {
	if quoted := strconv.Quote(name); quoted != `"`+name+`"` || strings.TrimSpace(name) != name {
		return quoted
	}
	return name
}
