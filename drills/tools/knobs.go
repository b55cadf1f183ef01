package tools

import (
	"fmt"
	"strings"

	"strop/drills"
	"strop/dsp"
)

// readKnobs reads the knobs of a tool that is turned: values in the order of
// params, or "gainDB=-3 freqHz=400" in any order. What is left out stays at
// its neutral value or, where it is no question of the drill, as asked.
func readKnobs(params ...dsp.Param) func(drills.Rung, dsp.Setting, string) (dsp.Setting, error) {
	return func(_ drills.Rung, asked dsp.Setting, text string) (dsp.Setting, error) {
		s := dsp.Setting{}
		for id, v := range asked {
			s[id] = v
		}
		for _, p := range params {
			s[p.ID] = p.Neutral
		}
		words := strings.Fields(strings.ReplaceAll(text, " =", "="))
		if len(words) == 0 || len(words) > len(params) {
			return nil, fmt.Errorf("give %s", knobNames(params))
		}
		for i, word := range words {
			p, value := params[i], word
			if id, v, named := strings.Cut(word, "="); named {
				var err error
				if p, err = knob(params, id); err != nil {
					return nil, err
				}
				value = v
			}
			v, err := parse(value, p)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", p.Name, err)
			}
			s[p.ID] = v
		}
		return s, nil
	}
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
