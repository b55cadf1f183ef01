package scene

import (
	"context"
	"fmt"

	"strop/game/ui"
)

// intake is what a look at every stem has found, as somebody wants to know it
// who is to take the job.
type intake struct {
	st      *Stage
	song    Song
	share   float64
	found   *Intake // nil until all stems were looked at
	chosen  int
	problem error
	cancel  context.CancelFunc
}

var (
	_ Scene  = (*intake)(nil)
	_ leaver = (*intake)(nil)
)

func newIntake(st *Stage) *intake {
	in := &intake{st: st, song: st.desk.song}
	song := in.song
	in.cancel = st.jobs.start(func(ctx context.Context, tell func(func())) func() {
		found, err := song.Intake(ctx, func(share float64) { tell(func() { in.share = share }) })
		return func() {
			if in.problem = err; err == nil {
				in.found = &found
			}
		}
	})
	return in
}

func (in *intake) left() { in.cancel() }

func (in *intake) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "stems":
		in.chosen = a.Index
	case a.Kind == ui.Pressed && a.ID == "back":
		in.st.back()
	}
}

func (in *intake) Page() ui.Page {
	page := ui.Page{
		Name: "intake", Title: "Looked over", Aside: in.song.About().Title, Body: in.body(),
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
		Focus: "back",
	}
	if in.found != nil {
		page.Focus = "stems"
	}
	return page
}

func (in *intake) body() ui.Item {
	back := ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}}
	switch {
	case in.problem != nil:
		return ui.Column{Items: []ui.Item{ui.Note{Text: sentence(in.problem), Problem: true}, back}}
	case in.found == nil:
		return ui.Column{Items: []ui.Item{
			ui.Progress{Label: "looking every stem over", Part: in.share, Text: fmt.Sprintf("%.0f %%", 100*in.share)}, back,
		}}
	}
	table := ui.Table{ID: "stems", Label: "stems: what stands out in one is said below", Rows: in.found.Rows, Chosen: in.chosen, Show: 7}
	for i, h := range in.found.Headings {
		table.Columns = append(table.Columns, ui.TableColumn{Title: h, Number: i > 0})
	}
	return ui.Column{Items: []ui.Item{
		table,
		ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{
			ui.Grow{Item: ui.Panel{Title: in.found.Rows[in.chosen][0], Item: sentences("of", in.found.Of[in.chosen], "Nothing stands out.")}},
			ui.Grow{Item: ui.Panel{Title: "Together", Item: sentences("notes", in.found.Notes, "Nothing stands out.")}},
		}}},
		back,
	}}
}

// sentences are some, to be scrolled through, or what is said where there are
// none.
func sentences(id string, texts []string, none string) ui.Item {
	if len(texts) == 0 {
		return ui.Text{Text: none, Ink: ui.SoftInk}
	}
	column := ui.Column{Gap: ui.Tight}
	for _, text := range texts {
		column.Items = append(column.Items, ui.Text{Text: text})
	}
	return ui.Scroll{ID: id, Item: column, HeightPx: 160}
}
