package scene

import (
	"context"
	"slices"
	"strconv"

	"strop/drills"
	"strop/drills/progress"
	"strop/game/ui"
)

// choose is the page of all drills: what is practised, how it is answered, and
// whether a stem is heard in the mix.
type choose struct {
	st       *Stage
	at       int // 0 for the plan of the day, else a drill of the table, from 1
	way      int // 0 for the hardest that is open, else a rung from 1
	alone    bool
	standing *Standing // of what is chosen; nil until it is known
}

var (
	_ Scene  = (*choose)(nil)
	_ shower = (*choose)(nil)
)

func newChoose(st *Stage) *choose {
	w := st.wish()
	c := &choose{st: st, alone: w.Condition.Heard == drills.Alone}
	c.at = 1 + slices.IndexFunc(st.world.Tools, func(t drills.Tool) bool { return t.ID == w.Tool })
	if c.at > 0 {
		c.way = 1 + slices.IndexFunc(c.tool().Rungs, func(r drills.Rung) bool { return r.ID == w.Rung })
	}
	return c
}

func (c *choose) tool() drills.Tool { return c.st.world.Tools[c.at-1] }

func (c *choose) shown() { c.look() }

// wish is what is practised if this is taken.
func (c *choose) wish() Wish {
	w := c.st.wish()
	w.Tool, w.Rung, w.Condition.Heard = "", "", drills.InMix
	if c.at == 0 {
		return w
	}
	w.Tool = c.tool().ID
	if c.way > 0 {
		w.Rung = c.tool().Rungs[c.way-1].ID
	}
	if c.alone && !c.tool().Fit.Among {
		w.Condition.Heard = drills.Alone
	}
	return w
}

// look finds where the listener stands on what is chosen.
func (c *choose) look() {
	if c.at == 0 {
		return
	}
	world, w, at := c.st.world, c.wish(), c.at
	c.st.work(func(ctx context.Context) func() {
		s, err := world.Drills.Stand(ctx, w)
		return func() {
			if err == nil && c.at == at {
				c.standing = &s
			}
		}
	})
}

func (c *choose) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "drills":
		c.at, c.way, c.standing = a.Index, 0, nil
		c.look()
	case a.Kind == ui.Changed && a.ID == "way":
		c.way = a.Index
		c.look()
	case a.Kind == ui.Changed && a.ID == "minutes":
		p := c.st.prefs
		p.Minutes = dayMinutes[a.Index]
		c.st.Prefer(p)
	case a.Kind == ui.Changed && a.ID == "heard":
		c.alone = a.Index == 1
		c.look()
	case a.Kind == ui.Submit, a.Kind == ui.Pressed && a.ID == "take":
		w := c.wish()
		c.st.practise(w.Tool, w.Rung, w.Condition.Heard)
		c.st.back()
	case a.Kind == ui.Pressed && a.ID == "back":
		c.st.back()
	}
}

// practise is what sittings are about from now on.
func (st *Stage) practise(tool, rung, heard string) {
	st.world.Wish.Tool, st.world.Wish.Rung, st.world.Wish.Condition.Heard = tool, rung, heard
	p := st.prefs
	p.Drill = tool
	st.Prefer(p)
}

func (c *choose) Page() ui.Page {
	return ui.Page{
		Name: "choose", Title: "Drills", Aside: strconv.Itoa(len(c.st.world.Tools)) + " drills",
		Question: "What is practised?",
		Body: ui.Column{Items: []ui.Item{
			ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{
				ui.Grow{Item: ui.List{ID: "drills", Rows: c.rows(), Chosen: c.at, Show: 12}},
				ui.Grow{Item: ui.Panel{Title: c.rows()[c.at].Text, Item: c.about()}},
			}}},
			ui.Row{Gap: ui.Tight, Items: []ui.Item{
				ui.Button{ID: "take", Label: "Practise this", Primary: true},
				ui.Button{ID: "back", Label: "Back"},
			}},
		}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter}, ID: "take", Does: "practise this"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: "drills",
	}
}

func (c *choose) rows() (rows []ui.ListRow) {
	rows = append(rows, ui.ListRow{Text: "Plan of the day"})
	for _, t := range c.st.world.Tools {
		rows = append(rows, ui.ListRow{Text: t.Title, Aside: t.Type})
	}
	return rows
}

// about is what a drill asks, how it is answered, and how hard it gets.
func (c *choose) about() ui.Item {
	if c.at == 0 {
		return c.aboutPlan()
	}
	t := c.tool()
	ways := ui.Choice{ID: "way", Label: "how to answer", Chosen: c.way, Options: []ui.Option{{Label: "the hardest that is open"}}}
	for _, r := range t.Rungs {
		ways.Options = append(ways.Options, ui.Option{Label: r.Title})
	}
	items := []ui.Item{ui.Text{Text: t.Doc, Bold: true}, ways}
	if t.Fit.Stems && !t.Fit.Among {
		heard := ui.Choice{ID: "heard", Label: "a stem is heard", Options: []ui.Option{{Label: "in the mix"}, {Label: "alone, which is easier"}}}
		if c.alone {
			heard.Chosen = 1
		}
		items = append(items, heard)
	}
	p := t.Level
	items = append(items, ui.Text{Text: capital(p.Name) + " from " + progress.WithUnit(p.Max, p.Unit) + " down to " + progress.WithUnit(p.Min, p.Unit) + "."})
	if s := c.standing; s != nil {
		items = append(items, ui.Text{Text: "You are at " + levelText(p.Name, p.Unit, s.Level) + ", " + s.Rung.Title + "."})
	}
	return ui.Column{Gap: ui.Tight, Items: append(items, ui.Text{Text: "Hard end: " + t.Source + ".", Size: ui.Small, Ink: ui.SoftInk})}
}

// dayMinutes are how long a day's practice may be wanted to take.
var dayMinutes = []int{5, 10, 15, 20, 30, 45, 60}

// aboutPlan is how the day is laid out, and how long it takes.
func (c *choose) aboutPlan() ui.Item {
	minutes := ui.Choice{ID: "minutes", Label: "minutes", Chosen: slices.Index(dayMinutes, c.st.prefs.Minutes)}
	for _, m := range dayMinutes {
		minutes.Options = append(minutes.Options, ui.Option{Label: strconv.Itoa(m)})
	}
	return ui.Column{Gap: ui.Tight, Items: []ui.Item{
		ui.Text{Text: "What is due: reviews first, something easily confused beside them, what was practised longest ago, and one thing new.", Bold: true},
		minutes,
		ui.Text{Text: "The drills of a plan are mixed, each as hard as is likely to be right about four times in five."},
	}}
}
