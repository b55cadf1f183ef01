package scene

import (
	"context"

	"strop/game/ui"
)

// skills is the smallest change that is heard reliably, skill by skill.
type skills struct {
	st       *Stage
	read     bool
	rows     []Skill
	foretold []Foretold
	chosen   int
	problem  error
}

var (
	_ Scene  = (*skills)(nil)
	_ shower = (*skills)(nil)
)

func (s *skills) shown() {
	world := s.st.world
	s.st.work(func(ctx context.Context) func() {
		rows, foretold, err := world.Drills.Skills(ctx)
		return func() { s.read, s.rows, s.foretold, s.problem = true, rows, foretold, err }
	})
}

func (s *skills) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "skills":
		s.chosen = a.Index
	case a.Kind == ui.Pressed && a.ID == "foretold":
		s.st.open(&predictions{st: s.st, foretold: s.foretold})
	case a.Kind == ui.Pressed && a.ID == "back":
		s.st.back()
	}
}

func (s *skills) Page() ui.Page {
	page := ui.Page{
		Name: "skills", Title: "Skills", Aside: count(len(s.rows), "skill") + ", 90 % intervals",
		Keys: []ui.Binding{{Keys: []ui.Key{ui.KeyEscape, ui.KeyEnter}, ID: "back", Does: "back"}},
	}
	switch {
	case s.problem != nil:
		page.Body = ui.Note{Text: sentence(s.problem), Problem: true}
	case !s.read:
		page.Body = ui.Progress{Label: "reading your answers", Part: -1}
	case len(s.rows) == 0:
		page.Question = "No skill has been practised yet."
		page.Body = ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}}
	default:
		page.Body, page.Focus = s.body(), "skills"
		if len(s.foretold) > 0 {
			page.Keys = append([]ui.Binding{{Keys: []ui.Key{"h"}, ID: "foretold", Does: "how predictions held"}}, page.Keys...)
		}
	}
	return page
}

// body is the table, and what else is known of the row that is chosen.
func (s *skills) body() ui.Item {
	table := ui.Table{ID: "skills", Chosen: s.chosen, Show: 12, Columns: []ui.TableColumn{
		{Title: "skill"}, {Title: "right", Number: true}, {Title: "threshold"}, {Title: "trend"},
	}}
	for _, r := range s.rows {
		table.Rows = append(table.Rows, []string{r.Title, r.Answers, r.Threshold, r.Trend})
	}
	r := s.rows[min(s.chosen, len(s.rows)-1)]
	about := r.Title + ", " + r.Condition + "."
	for _, part := range [...]struct{ name, text string }{
		{"Said instead: ", r.Confused}, {"You answer ", r.Bias}, {"Kept, by probes: ", r.Kept},
	} {
		if part.text != "" {
			about += " " + part.name + part.text + "."
		}
	}
	if r.Due {
		about += " A review is due."
	}
	return ui.Column{Items: []ui.Item{
		ui.Grow{Item: table},
		ui.Text{Text: about},
		ui.Text{Text: "A threshold is the smallest change heard reliably, on the loops practised with. This is practice, no hearing test.", Size: ui.Small, Ink: ui.SoftInk},
	}}
}
