package cli

import (
	"fmt"
	"strings"

	"strop/drills"
	"strop/dsp"
)

// list prints the answers offered: under title on one line, or one on each
// line where title is empty.
func (d *textDrill) list(round *drills.Round, title string) {
	nothing := round.Tool.NothingShare > 0
	if len(round.Rung.Choices) == 0 {
		fmt.Fprintln(d.out, scaleText(round, nothing))
		return
	}
	separator := "; "
	if title == "" {
		separator = "\n"
	}
	var items []string
	for i, c := range round.Rung.Choices {
		items = append(items, fmt.Sprintf("%d: %s", i+1, c.Label))
	}
	if nothing {
		items = append(items, "0: nothing was changed")
	}
	fmt.Fprintln(d.out, strings.Join(items, separator))
}

// scaleText says how to answer without a list.
func scaleText(round *drills.Round, nothing bool) string {
	if round.Rung.Surface == drills.Knobs {
		var names []string
		for _, p := range round.Tool.Knobs() {
			names = append(names, rangeText(p))
		}
		return "Say what you would turn: " + strings.Join(names, ", then ") + nearText(round) + "."
	}
	text := "Answer with a " + rangeText(round.Tool.Params[0])
	if nothing {
		text += ", or 0: nothing was changed"
	}
	return text + nearText(round) + "."
}

// nearText is how near an answer has to come, where the trial says so.
func nearText(round *drills.Round) string {
	if round.Rung.Near == 0 {
		return ""
	}
	return fmt.Sprintf("; right within %.2g %s", round.Rung.Near, round.Tool.Unit)
}

// knobsText is where the knobs stand: "frequency 1 kHz, gain −6.0 dB".
func knobsText(params []dsp.Param, s dsp.Setting) string {
	var words []string
	for _, p := range params {
		v := s.Get(p)
		text := strings.TrimSpace(fmt.Sprintf("%.4g %s", v, p.Unit))
		switch p.Unit {
		case "Hz":
			text = dsp.FormatHz(v)
		case "dB":
			text = dsp.FormatDB(v)
		}
		words = append(words, p.Name+" "+text)
	}
	return strings.Join(words, ", ")
}

// rangeText is a parameter and its range: "frequency from 20 Hz to 20 kHz".
func rangeText(p dsp.Param) string {
	if p.Unit == "Hz" {
		return fmt.Sprintf("%s from %s to %s", p.Name, dsp.FormatHz(p.Min), dsp.FormatHz(p.Max))
	}
	return strings.TrimSpace(fmt.Sprintf("%s from %g to %g %s", p.Name, p.Min, p.Max, p.Unit))
}
