package scene

import (
	"fmt"

	"strop/game/ui"
)

// predictions is how the chances that were foretold of right answers have held.
type predictions struct {
	st       *Stage
	foretold []Foretold
}

var _ Scene = (*predictions)(nil)

func (p *predictions) Do(a ui.Action) {
	if a.Kind == ui.Pressed && a.ID == "back" {
		p.st.back()
	}
}

func (p *predictions) Page() ui.Page {
	return ui.Page{
		Name: "predictions", Title: "How predictions held", Aside: "95 % intervals",
		Body: ui.Column{Items: []ui.Item{
			ui.Text{Text: "Before every trial strop foretells how likely you are to be right, and aims at about four times in five. Where the points lie on the line, what it says of you can be believed; under it, it thinks you better than you are."},
			ui.Grow{Item: p.chart()},
			ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}},
		}},
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEscape, ui.KeyEnter}, ID: "back", Does: "back"}},
		Focus: "back",
	}
}

func (p *predictions) chart() ui.Item {
	held := ui.Series{Label: "right", Ink: ui.Data1, Mark: ui.Dot, Loose: true}
	for _, f := range p.foretold {
		q := ui.ChartPoint{X: 100 * f.Share, Y: 100 * f.Right, Lo: 100 * f.Lo, Hi: 100 * f.Hi}
		q.Text = fmt.Sprintf("foretold %.0f %%: right %.0f %% (%.0f to %.0f), %s", q.X, q.Y, q.Lo, q.Hi, count(f.Answers, "answer"))
		held.Points = append(held.Points, q)
	}
	line := ui.Series{Label: "as foretold", Ink: ui.SoftInk, Points: []ui.ChartPoint{{}, {X: 100, Y: 100}}}
	scale := ui.Scale{Max: 100, Ticks: ui.LinearTicks(0, 100, short)}
	return ui.Chart{X: ui.Axis{Label: "foretold, %", Scale: scale}, Y: ui.Axis{Label: "right, %", Scale: scale}, Series: []ui.Series{line, held}}
}
