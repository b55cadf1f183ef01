package scene

import (
	"strconv"
	"strings"

	"strop/drills"
	"strop/dsp"
	"strop/game/ui"
)

// knobs are the parameters of a tool, turned while it sounds. What is meant
// comes first: nothing moves the sound until it was said.
type knobs struct {
	round   *drills.Round
	set     dsp.Setting
	meant   dsp.Setting // nil until it was said
	problem error
}

func newKnobs(r *drills.Round) *knobs {
	set := dsp.Setting{}
	for _, p := range r.Tool.Knobs() {
		set[p.ID] = p.Neutral
	}
	return &knobs{round: r, set: set}
}

const knobID = "knob "

func (s *knobs) item() ui.Item {
	column := ui.Column{}
	for _, p := range s.round.Tool.Knobs() {
		column.Items = append(column.Items, ui.Slider{
			ID: knobID + p.ID, Label: named(p), Scale: scaleOf(p), Value: s.set.Get(p), ValueText: paramText(p, s.set.Get(p)),
			Tip: "Arrow keys and the wheel turn by one step, with Shift by a large one.",
		})
	}
	if s.problem != nil {
		column.Items = append(column.Items, ui.Note{Text: sentence(s.problem), Problem: true})
	}
	return column
}

func (s *knobs) take(a ui.Action, _ func(string) (dsp.Setting, error)) bool {
	id, ok := strings.CutPrefix(a.ID, knobID)
	if !ok || a.Kind != ui.Changed {
		return false
	}
	s.set, s.problem = s.set.With(id, a.Value), nil
	return true
}

func (s *knobs) answer() string {
	var words []string
	for _, p := range s.round.Tool.Knobs() {
		words = append(words, p.ID+"="+strconv.FormatFloat(s.set.Get(p), 'f', -1, 64))
	}
	return strings.Join(words, " ")
}

func (s *knobs) hint() string {
	if s.meant == nil {
		return "first say the move you mean; then turn it while it sounds"
	}
	return "turn until it is as it was, then answer"
}

func (s *knobs) missing() string { return "" }
func (s *knobs) blame(err error) { s.problem = err }

// told is where each knob should have stood, was meant to, and stood.
func (s *knobs) told(o *drills.Outcome, t told) ui.Item {
	table := ui.Table{Chosen: -1, Columns: []ui.TableColumn{
		{Title: "knob"}, {Title: "undoes it", Number: true}, {Title: "meant", Number: true}, {Title: "turned to", Number: true},
	}}
	for _, p := range s.round.Tool.Knobs() {
		row := []string{p.Name}
		for _, set := range []dsp.Setting{o.Record.Trial.Truth, o.Record.Answer.Intent, o.Record.Answer.Guess} {
			row = append(row, paramText(p, set.Get(p)))
		}
		table.Rows = append(table.Rows, row)
	}
	return t.pictures.under(table)
}
