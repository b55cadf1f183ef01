package scene

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"strop/drills"
	"strop/drills/progress"
	"strop/dsp"
	"strop/game/ui"
)

// surface is what a trial is answered on. It holds what was given so far.
type surface interface {
	// item is what the answer is given on.
	item() ui.Item
	// told is the same with the truth and the answer on it.
	told(o *drills.Outcome, t told) ui.Item
	// take takes what the user did to it; false: nothing that it knows.
	take(a ui.Action, read func(text string) (dsp.Setting, error)) bool
	// answer is what was given, as it would be typed; "" for nothing yet.
	answer() string
	// hint says how an answer is typed, and missing what to do first.
	hint() string
	missing() string
	// blame shows what is wrong with what was given; nil: nothing.
	blame(err error)
}

// surfaces make what each way to answer is given on.
var surfaces = map[drills.Surface]func(*drills.Round) surface{
	drills.Ruler:  func(r *drills.Round) surface { return &rule{round: r} },
	drills.Arc:    func(r *drills.Round) surface { return &rule{round: r, bent: true} },
	drills.Cards:  func(r *drills.Round) surface { return &cards{round: r, chosen: -1} },
	drills.Stems:  func(r *drills.Round) surface { return &cards{round: r, chosen: -1, list: true} },
	drills.Matrix: func(r *drills.Round) surface { return &cards{round: r, chosen: -1, pairs: true} },
	drills.Knobs:  func(r *drills.Round) surface { return newKnobs(r) },
}

// surfaceID is the item that every surface has the keyboard on.
const surfaceID = "ruler"

// rule is a ruler, straight or bent.
type rule struct {
	round   *drills.Round
	bent    bool
	value   float64
	set     bool
	entry   string // as it is typed
	problem error
}

func (s *rule) item() ui.Item {
	ruler := rulerFor(s.round.Tool, s.round.Rung)
	ruler.Value, ruler.Set, ruler.Entry = s.value, s.set, s.entry
	ruler.ValueText = valueText(s.round.Tool, s.round.Rung, s.value)
	if s.problem != nil {
		ruler.Problem = sentence(s.problem)
	}
	return s.shaped(ruler)
}

func (s *rule) shaped(r ui.Ruler) ui.Item {
	if s.bent {
		return ui.Arc{Ruler: r}
	}
	return r
}

// take moves the cursor, or takes what is typed: a value that can be read
// moves the cursor too.
func (s *rule) take(a ui.Action, read func(string) (dsp.Setting, error)) bool {
	if a.Kind != ui.Changed || a.ID != surfaceID {
		return false
	}
	s.problem = nil
	if a.Text == "" {
		s.set, s.value, s.entry = s.set || a.Value != s.value, a.Value, ""
		return true
	}
	s.entry, s.set = a.Text, false
	if guess, err := read(a.Text); err == nil && len(guess) > 0 {
		s.value, s.set = guess.Get(s.round.Tool.Params[0]), true
	}
	return true
}

func (s *rule) answer() string {
	switch {
	case s.entry != "":
		return s.entry
	case s.set:
		return s.typed()
	}
	return ""
}

// typed is the value as it would be typed: where there are choices, the label
// of one, so that no number is taken for its place in the row.
func (s *rule) typed() string {
	param := s.round.Tool.Params[0]
	for _, c := range s.round.Rung.Choices {
		if c.Guess.Get(param) == s.value {
			return c.Label
		}
	}
	return strconv.FormatFloat(s.value, 'f', -1, 64)
}

func (s *rule) hint() string {
	text := "or type a value"
	if s.round.Tool.Params[0].Unit == "Hz" {
		text += ", such as 2k5"
	}
	if len(s.round.Rung.Choices) > 0 {
		text += ", or the number of a band from the left"
	}
	if s.round.Tool.NothingShare > 0 {
		text += "; 0: nothing was changed"
	}
	return text
}

func (s *rule) missing() string { return "point at a place on the ruler first, or type a value" }
func (s *rule) blame(err error) { s.problem = err }

// told is the ruler with the truth and the answer on it.
func (s *rule) told(o *drills.Outcome, t told) ui.Item {
	tool, rung := s.round.Tool, s.round.Rung
	ruler := rulerFor(tool, rung)
	ruler.Bands, ruler.Off, ruler.Tip = nil, true, ""
	mark := func(name string, set dsp.Setting, m ui.RulerMark) {
		if len(set) > 0 {
			m.Value = set.Get(tool.Params[0])
			m.Label = name + " " + valueText(tool, rung, m.Value)
			ruler.Marks = append(ruler.Marks, m)
		}
	}
	mark("truth", o.Record.Trial.Truth, ui.RulerMark{Ink: ui.Data1, Mark: ui.Dot})
	mark("mine", o.Record.Answer.Guess, ui.RulerMark{Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed})
	if t.truth != nil {
		ruler.Y = gainScale(t.truth, t.mine)
		ruler.Curves = []ui.Curve{
			{Label: "truth", Points: t.truth, From: t.mine, Ink: ui.Data1, Mark: ui.Dot},
			{Label: "mine", Points: t.mine, Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed},
		}
	}
	return t.pictures.under(s.shaped(ruler))
}

// cards is a few answers, in a row or as a list of stems.
type cards struct {
	round   *drills.Round
	list    bool
	pairs   bool
	chosen  int // -1: none yet
	problem error
}

func (s *cards) item() ui.Item {
	if s.pairs {
		return s.under(s.grid())
	}
	if s.list {
		return s.under(ui.List{ID: surfaceID, Label: "stems", Rows: s.rows(), Chosen: s.chosen, Show: min(8, len(s.round.Rung.Choices))})
	}
	c := ui.Choice{ID: surfaceID, Label: "answers", Chosen: s.chosen, Tip: "Arrow keys choose, and so does the number of an answer."}
	for i, choice := range s.round.Rung.Choices {
		c.Options = append(c.Options, ui.Option{ID: "card" + strconv.Itoa(i+1), Label: choice.Label})
	}
	return s.under(c)
}

// grid is the answers as pairs.
func (s *cards) grid() ui.Grid {
	g := ui.Grid{ID: surfaceID, Corner: "covers", Chosen: s.chosen, Tip: "Arrow keys go from pair to pair."}
	for _, c := range s.round.Rung.Choices {
		if !slices.Contains(g.Rows, c.Row) {
			g.Rows = append(g.Rows, c.Row)
		}
	}
	g.Columns = slices.Clone(g.Rows)
	for _, c := range s.round.Rung.Choices {
		g.Cells = append(g.Cells, ui.GridCell{Row: slices.Index(g.Rows, c.Row), Column: slices.Index(g.Columns, c.Column)})
	}
	return g
}

// under adds what is wrong.
func (s *cards) under(it ui.Item) ui.Item {
	if s.problem == nil {
		return it
	}
	return ui.Column{Gap: ui.Tight, Items: []ui.Item{it, ui.Note{Text: sentence(s.problem), Problem: true}}}
}

func (s *cards) rows() (rows []ui.ListRow) {
	for i, c := range s.round.Rung.Choices {
		rows = append(rows, ui.ListRow{Text: c.Label, Aside: strconv.Itoa(i + 1)})
	}
	return rows
}

func (s *cards) take(a ui.Action, _ func(string) (dsp.Setting, error)) bool {
	if n, err := strconv.Atoi(strings.TrimPrefix(a.ID, "card")); a.Kind == ui.Pressed && err == nil && n >= 1 && n <= len(s.round.Rung.Choices) {
		s.chosen, s.problem = n-1, nil
		return true
	}
	if a.Kind != ui.Changed || a.ID != surfaceID {
		return false
	}
	s.chosen, s.problem = a.Index, nil
	return true
}

func (s *cards) answer() string {
	if s.chosen < 0 {
		return ""
	}
	return strconv.Itoa(s.chosen + 1)
}

func (s *cards) hint() string {
	text := "or press the number of an answer"
	if s.round.Tool.NothingShare > 0 {
		text += "; N: nothing was changed"
	}
	return text
}

func (s *cards) missing() string { return "choose one of the answers first" }
func (s *cards) blame(err error) { s.problem = err }

// told is all answers, with the truth and the one that was given named.
func (s *cards) told(o *drills.Outcome, t told) ui.Item {
	grade := func(guess dsp.Setting) bool {
		return s.round.Tool.Grade(s.round.Rung, o.Record.Trial.Truth, guess).Right
	}
	table := ui.Table{Chosen: -1, Columns: []ui.TableColumn{{Title: "answer"}, {Title: "truth"}, {Title: "mine"}}}
	for i, c := range s.round.Rung.Choices {
		row := []string{c.Label, "", ""}
		if len(o.Record.Trial.Truth) > 0 && grade(laid(o.Record.Trial.Asked, c.Guess)) {
			row[1] = "truth"
		}
		if i == s.chosen && len(o.Record.Answer.Guess) > 0 {
			row[2] = "mine"
		}
		table.Rows = append(table.Rows, row)
	}
	if s.round.Tool.NothingShare > 0 {
		row := []string{"nothing was changed", "", ""}
		if len(o.Record.Trial.Truth) == 0 {
			row[1] = "truth"
		}
		if len(o.Record.Answer.Guess) == 0 {
			row[2] = "mine"
		}
		table.Rows = append(table.Rows, row)
	}
	return t.pictures.under(table)
}

// laid is one setting over another.
func laid(under, over dsp.Setting) dsp.Setting {
	s := under
	for id, v := range over {
		s = s.With(id, v)
	}
	return s
}

// cardKeys let each answer be chosen by its number.
func cardKeys(n int) (keys []ui.Binding) {
	for i := range min(n, 9) {
		keys = append(keys, ui.Binding{Keys: []ui.Key{ui.Key(strconv.Itoa(i + 1))}, ID: "card" + strconv.Itoa(i+1), Does: "answer " + strconv.Itoa(i+1)})
	}
	return keys
}

// rulerFor is the ruler that a tool is answered on: the range of its first
// parameter, with the bands of a way to answer that offers choices.
func rulerFor(t drills.Tool, r drills.Rung) ui.Ruler {
	param := t.Params[0]
	ruler := ui.Ruler{
		ID: surfaceID, Label: named(param), Scale: scaleOf(param), Bands: bandsOf(param, r),
		Accepts: "0123456789.,kK", Tip: "Arrow keys and the wheel move by one step, with Shift by a large one. A value can be typed.",
	}
	if param.Unit != "Hz" {
		ruler.Accepts = "0123456789.,-"
	}
	if r.Near > 0 {
		ruler.Tip += fmt.Sprintf(" Right within %.2g %s.", r.Near, t.Unit)
	}
	return ruler
}

// named is a parameter with its unit: "frequency, Hz".
func named(p dsp.Param) string {
	if p.Unit == "" {
		return p.Name
	}
	return p.Name + ", " + p.Unit
}

// valueText is a value as the way to answer calls it.
func valueText(t drills.Tool, r drills.Rung, v float64) string {
	param := t.Params[0]
	i := slices.IndexFunc(r.Choices, func(c drills.Choice) bool { return c.Guess.Get(param) == v })
	if i >= 0 {
		return r.Choices[i].Label
	}
	return paramText(param, v)
}

// paramText is a value of a parameter: "2.5 kHz", "−6.0 dB".
func paramText(p dsp.Param, v float64) string {
	switch {
	case p.Unit == "Hz":
		return dsp.FormatHz(v)
	case p.Unit == "dB" && p.Min < 0:
		return dsp.FormatDB(v)
	}
	return progress.WithUnit(v, p.Unit)
}
