package scene

import (
	"fmt"
	"strconv"

	"strop/drills"
	"strop/drills/progress"
	"strop/game/ui"
)

// resulting is what the answers to one drill tell.
type resulting struct {
	st     *Stage
	result progress.Result
}

var _ Scene = (*resulting)(nil)

func (r *resulting) Do(a ui.Action) {
	if a.Kind == ui.Pressed && a.ID == "back" {
		r.st.back()
	}
}

func (r *resulting) Page() ui.Page {
	return ui.Page{
		Name: "result", Title: "Progress", Aside: count(r.result.Answers, "answer") + ", 95 % intervals",
		Body:  ui.Column{Items: []ui.Item{ui.Grow{Item: resultItems(r.result)}, ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}}}},
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEscape, ui.KeyEnter}, ID: "back", Does: "back"}},
		Focus: resultFocus(r.result),
	}
}

// resultItems are how far off the answers were, by day and by region.
func resultItems(r progress.Result) ui.Item {
	items := []ui.Item{
		ui.Text{Text: r.Heading() + "; " + progress.ConditionText(r.Condition), Size: ui.Head, Bold: true},
		ui.Text{Text: fmt.Sprintf("%s. Right where something was changed: %s. Now at %s.",
			capital(count(r.Answers, "answer")), progress.ShareText(r.Overall.Right), levelText(r.Level.Name, r.Level.Unit, r.Level.Last))},
	}
	if e := r.Overall.Error; e != nil && alike(r) {
		items = append(items, ui.Text{Text: "Off by " + progress.MeanText(e.Size, r.Unit) + "; bias " + progress.BiasText(e.Bias, r.Unit) + "."})
	}
	for _, b := range r.Biases {
		items = append(items, ui.Note{Text: b.Text})
	}
	if alike(r) {
		return ui.Column{Items: append(items, ui.Grow{Item: dayChart(r)})}
	}
	return ui.Column{Items: append(items,
		ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{ui.Grow{Item: dayChart(r)}, ui.Grow{Item: regionChart(r)}}}},
		regionTable(r),
	)}
}

// alike reports whether a drill has no regions to tell apart.
func alike(r progress.Result) bool {
	return len(r.Regions) == 1 && r.Regions[0].Name == drills.Everywhere
}

// resultFocus is where the keyboard is on a result.
func resultFocus(r progress.Result) string {
	if alike(r) {
		return "back"
	}
	return "regions"
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
