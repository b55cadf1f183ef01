package scene

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"strop/drills"
	"strop/drills/progress"
	"strop/game/ui"
)

// progressing is what all answers tell, what was practised last first.
type progressing struct {
	st      *Stage
	read    bool
	told    progress.Progress
	chosen  int // of the results
	problem error
}

var (
	_ Scene  = (*progressing)(nil)
	_ shower = (*progressing)(nil)
)

func newProgress(st *Stage) *progressing { return &progressing{st: st} }

func (p *progressing) shown() {
	world := p.st.world
	p.st.work(func(ctx context.Context) func() {
		records, err := world.History.Records(ctx, "")
		told := progress.Summarise(records, world.Find, world.Where)
		return func() {
			p.read, p.told, p.problem = true, told, err
			slices.SortStableFunc(p.told.Results, func(a, b progress.Result) int { return b.LastAt.Compare(a.LastAt) })
		}
	})
}

func (p *progressing) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "results":
		p.chosen = a.Index
	case a.Kind == ui.Submit && a.ID == "results", a.Kind == ui.Pressed && a.ID == "look":
		if p.chosen < len(p.told.Results) {
			p.st.open(&resulting{st: p.st, result: p.told.Results[p.chosen]})
		}
	case a.Kind == ui.Pressed && a.ID == "skills":
		p.st.open(&skills{st: p.st})
	case a.Kind == ui.Pressed && a.ID == "back":
		p.st.back()
	}
}

func (p *progressing) Page() ui.Page {
	page := ui.Page{
		Name: "progress", Title: "Progress", Aside: count(p.told.Answers, "answer"),
		Keys: []ui.Binding{{Keys: []ui.Key{"k"}, ID: "skills", Does: "skills"}, {Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
	}
	switch {
	case p.problem != nil:
		page.Body = ui.Note{Text: sentence(p.problem), Problem: true}
	case !p.read:
		page.Body = ui.Progress{Label: "reading your answers", Part: -1}
	case len(p.told.Results) == 0:
		page.Question = "No answers yet."
		page.Body = ui.Column{Items: []ui.Item{
			ui.Text{Text: "After a sitting this page shows how far off you were, by day and by region, with intervals."},
			ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}},
		}}
	case len(p.told.Results) == 1:
		one := p.told.Results[0]
		page.Body, page.Focus = ui.Column{Items: []ui.Item{ui.Grow{Item: resultItems(one)}, ui.Row{Gap: ui.Tight, Items: []ui.Item{
			ui.Button{ID: "skills", Label: "Skills"}, ui.Button{ID: "back", Label: "Back"},
		}}}}, resultFocus(one)
	default:
		page.Body, page.Focus = p.table(), "results"
		page.Keys = append([]ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "look", Does: "look closer"}}, page.Keys...)
	}
	return page
}

// table is all that was practised, a row each.
func (p *progressing) table() ui.Item {
	t := ui.Table{ID: "results", Chosen: p.chosen, Show: 14, Columns: []ui.TableColumn{
		{Title: "drill"}, {Title: "on"}, {Title: "answers", Number: true}, {Title: "right", Number: true},
		{Title: "off by", Number: true}}}
	for _, r := range p.told.Results {
		t.Rows = append(t.Rows, []string{
			r.Heading(), heardText(r.Condition), strconv.Itoa(r.Answers), rightText(r.Overall.Right), offText(r)})
	}
	last := p.told.Results[p.chosen].LastAt
	about := ui.Text{Text: "Practised last " + ago(last, p.st.now, p.st.world.Where) + "."}
	return ui.Column{Items: []ui.Item{ui.Grow{Item: t}, about, ui.Row{Gap: ui.Tight, Items: []ui.Item{
		ui.Button{ID: "look", Label: "Look closer", Primary: true}, ui.Button{ID: "skills", Label: "Skills"}, ui.Button{ID: "back", Label: "Back"},
	}}}}
}

// heardText is a condition in a word or two; the mix goes without saying.
func heardText(c drills.Condition) string {
	if c.Heard != drills.InMix {
		return c.Transducer + ", " + c.Heard
	}
	return c.Transducer
}

func rightText(s progress.Share) string {
	if s.Of == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f %%", 100*float64(s.Count)/float64(s.Of))
}

// offText is how far off answers are on average, where they can be by more or
// less.
func offText(r progress.Result) string {
	if e := r.Overall.Error; e != nil && r.Unit != "of 1" {
		return progress.WithUnit(e.Size.Mean, r.Unit)
	}
	return ""
}
