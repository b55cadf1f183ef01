package scene

import (
	"context"
	"fmt"
	"strconv"

	"strop/drills/progress"
	"strop/game/ui"
)

// progressing is what all answers tell.
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
			p.chosen = latest(told.Results)
		}
	})
}

// latest is the result that was practised last.
func latest(results []progress.Result) int {
	best := 0
	for i, r := range results {
		if r.LastAt.After(results[best].LastAt) {
			best = i
		}
	}
	return best
}

func (p *progressing) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "result":
		p.chosen = a.Index
	case a.Kind == ui.Pressed && a.ID == "skills":
		p.st.open(&skills{st: p.st})
	case a.Kind == ui.Pressed && a.ID == "back":
		p.st.back()
	}
}

func (p *progressing) Page() ui.Page {
	page := ui.Page{
		Name: "progress", Title: "Progress", Aside: count(p.told.Answers, "answer") + ", 95 % intervals",
		Keys: []ui.Binding{{Keys: []ui.Key{"k"}, ID: "skills", Does: "skills"}, {Keys: []ui.Key{ui.KeyEscape, ui.KeyEnter}, ID: "back", Does: "back"}},
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
	default:
		page.Body, page.Focus = p.body(p.told.Results[p.chosen]), p.focus()
	}
	return page
}

func (p *progressing) focus() string {
	if len(p.told.Results) > 1 {
		return "result"
	}
	return "regions"
}

func (p *progressing) body(r progress.Result) ui.Item {
	items := []ui.Item{}
	if len(p.told.Results) > 1 {
		choice := ui.Choice{ID: "result", Label: "what is shown", Chosen: p.chosen}
		for _, r := range p.told.Results {
			choice.Options = append(choice.Options, ui.Option{Label: r.RungTitle + ", " + transducerText(r.Condition.Transducer)})
		}
		items = append(items, choice)
	}
	items = append(items, ui.Text{Text: r.Title + ", " + r.RungTitle + "; " + progress.ConditionText(r.Condition), Size: ui.Head, Bold: true},
		ui.Text{Text: fmt.Sprintf("%s. Right where something was changed: %s. Now at %s.",
			capital(count(r.Answers, "answer")), progress.ShareText(r.Overall.Right), levelText(r.Level.Name, r.Level.Unit, r.Level.Last))})
	for _, b := range r.Biases {
		items = append(items, ui.Note{Text: b.Text})
	}
	return ui.Column{Items: append(items,
		ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{ui.Grow{Item: dayChart(r)}, ui.Grow{Item: regionChart(r)}}}},
		regionTable(r),
	)}
}

func transducerText(t string) string {
	if t == "unstated" {
		return "headphones or loudspeakers unstated"
	}
	return t
}

func regionTable(r progress.Result) ui.Item {
	t := ui.Table{ID: "regions", Chosen: -1, Columns: []ui.TableColumn{
		{Title: "region"}, {Title: "answers", Number: true}, {Title: "right", Number: true},
		{Title: "off by, " + r.Unit, Number: true}, {Title: "bias, " + r.Unit, Number: true}}}
	for _, part := range r.Regions {
		row := []string{part.Name, strconv.Itoa(part.Right.Of), progress.ShareText(part.Right), strconv.Itoa(part.Missing) + " more needed", ""}
		if part.Error != nil {
			row[3], row[4] = progress.MeanText(part.Error.Size, ""), progress.BiasText(part.Error.Bias, "")
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
