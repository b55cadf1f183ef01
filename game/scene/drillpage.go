package scene

import (
	"fmt"

	"strop/dsp"
	"strop/game/ui"
)

func (d *drill) Page() ui.Page {
	p := d.page()
	if d.leaving {
		p.Dialogue = d.dialogue()
	}
	return p
}

func (d *drill) page() ui.Page {
	switch d.step {
	case asking, grading:
		return d.questionPage()
	case telling:
		return d.truthPage()
	}
	return d.waitingPage()
}

func (d *drill) title() string {
	if d.sitting.Session == nil {
		return "Trial"
	}
	return d.sitting.Tool.Title + ", " + d.sitting.Rung.Title
}

func (d *drill) aside() string {
	return fmt.Sprintf("trial %d of %d   %s", d.round.Trial.Number, d.wish.Trials, d.round.Clip.Name)
}

var leaveKey = ui.Binding{Keys: []ui.Key{ui.KeyEscape}, ID: "leave", Does: "stop here"}

func (d *drill) waitingPage() ui.Page {
	p := ui.Page{Name: "waiting", Title: d.title(), Keys: []ui.Binding{leaveKey}, Focus: "leave"}
	if d.step == failed {
		p.Question = "No trial can be made."
		p.Body = ui.Column{Items: []ui.Item{
			ui.Note{Text: sentence(d.problem), Problem: true},
			ui.Row{Items: []ui.Item{
				ui.Button{ID: "material", Label: "Change the material", Primary: true},
				ui.Button{ID: "leave", Label: "Back"},
			}},
		}}
		p.Focus = "material"
		return p
	}
	p.Question = "One moment."
	items := d.st.openingItems()
	if len(items) == 0 {
		items = []ui.Item{ui.Progress{Label: "preparing the first trial", Part: -1}}
	}
	p.Body = ui.Column{Items: append(items, ui.Row{Items: []ui.Item{ui.Button{ID: "leave", Label: "Cancel", Mark: ui.Cross}}})}
	return p
}

// transport is play and stop, and the sides.
func (d *drill) transport() ui.Item {
	play := ui.Button{ID: "play", Label: "Pause", Mark: ui.Pause}
	if !d.playing {
		play.Label, play.Mark = "Play", ui.Play
	}
	sides := []ui.Option{{ID: "untouched", Label: "untouched"}, {ID: "changed", Label: "changed"}, {ID: "mine", Label: "mine"}}
	return ui.Row{Items: []ui.Item{
		play,
		ui.Choice{ID: "side", Options: sides[:max(2, len(d.sides))], Chosen: d.side, Tip: "What you hear. All sides are equally loud."},
		ui.Grow{Item: ui.Space{}},
		ui.Button{ID: "again", Label: "From the top", Mark: ui.Back},
	}}
}

// top is the transport, and why nothing is heard of it.
func (d *drill) top() []ui.Item {
	if d.st.world.Sound.Heard().Problem == nil {
		return []ui.Item{d.transport()}
	}
	return []ui.Item{d.transport(), soundNote(d.st)}
}

var sideKeys = []ui.Binding{
	{Keys: []ui.Key{ui.KeySpace}, ID: "play", Does: "play or pause"},
	{Keys: []ui.Key{"u"}, ID: "untouched", Does: "untouched"},
	{Keys: []ui.Key{"c"}, ID: "changed", Does: "changed"},
}

// keys puts what is special before and after what every trial has.
func keys(first []ui.Binding, last ...ui.Binding) []ui.Binding {
	return append(append(append([]ui.Binding{}, first...), sideKeys...), last...)
}

func (d *drill) questionPage() ui.Page {
	ruler := rulerFor(d.sitting.Tool, d.sitting.Rung)
	ruler.Value, ruler.Set, ruler.Entry = d.answer.value, d.answer.set, d.answer.entry
	ruler.ValueText = valueText(d.sitting.Tool, d.sitting.Rung, d.answer.value)
	if d.problem != nil {
		ruler.Problem = sentence(d.problem)
	}
	give := ui.Button{ID: "answer", Label: "Answer", Primary: true}
	nothing := ui.Button{ID: "nothing", Label: "Nothing was changed"}
	if d.step == grading {
		give.Off = "being graded"
	}
	return ui.Page{
		Name: "drill", Title: d.title(), Aside: d.aside(), Question: d.round.Question,
		Body: ui.Column{Items: append(d.top(),
			ui.Grow{Item: ruler},
			ui.Row{Items: []ui.Item{give, nothing, ui.Grow{Item: ui.Text{Text: d.hint(), Size: ui.Small, Ink: ui.SoftInk}}}},
		)},
		Keys: keys([]ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "answer", Does: "answer"}},
			ui.Binding{Keys: []ui.Key{"n"}, ID: "nothing", Does: "nothing was changed"},
			ui.Binding{Keys: []ui.Key{"r"}, ID: "again", Does: "from the top"}, leaveKey),
		Focus: "ruler",
	}
}

// hint says how an answer is typed.
func (d *drill) hint() string {
	if len(d.sitting.Rung.Choices) == 0 {
		return "or type a value, such as 2k5; 0: nothing was changed"
	}
	return "or type a value, such as 2k5, or the number of a band from the left; 0: nothing was changed"
}

func (d *drill) truthPage() ui.Page {
	verdict := "Wrong. "
	if d.outcome.Record.Score.Right {
		verdict = "Right. "
	}
	next := ui.Button{ID: "next", Label: "Next trial", Mark: ui.Forth, Primary: true}
	if d.round.Trial.Number == d.wish.Trials {
		next.Label = "Finish"
	}
	if d.hurry {
		next.Off = "being prepared"
	}
	body := d.top()
	if d.problem != nil {
		body = append(body, ui.Note{Text: sentence(d.problem), Problem: true})
	}
	body = append(body, ui.Grow{Item: d.truthRuler()}, ui.Row{Items: []ui.Item{next, ui.Grow{Item: ui.Space{}}}})
	return ui.Page{
		Name: "feedback", Title: d.title(), Aside: d.aside(), Question: verdict + d.outcome.Tell,
		Body: ui.Column{Items: body},
		Keys: keys([]ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "next", Does: "next trial"}},
			ui.Binding{Keys: []ui.Key{"m"}, ID: "mine", Does: "mine"},
			ui.Binding{Keys: []ui.Key{"r"}, ID: "again", Does: "from the top"}, leaveKey),
		Focus: "side", Progress: d.told.part,
	}
}

// truthRuler is the ruler with the truth and the answer on it.
func (d *drill) truthRuler() ui.Ruler {
	tool, rung := d.sitting.Tool, d.sitting.Rung
	ruler := rulerFor(tool, rung)
	ruler.Bands, ruler.Off, ruler.Tip = nil, true, ""
	record := d.outcome.Record
	mark := func(name string, s dsp.Setting, m ui.RulerMark) {
		if len(s) > 0 {
			m.Value = s.Get(tool.Params[0])
			m.Label = name + " " + valueText(tool, rung, m.Value)
			ruler.Marks = append(ruler.Marks, m)
		}
	}
	mark("truth", record.Trial.Truth, ui.RulerMark{Ink: ui.Data1, Mark: ui.Dot})
	mark("mine", record.Answer.Guess, ui.RulerMark{Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed})
	if d.told.truth != nil {
		ruler.Y = gainScale(d.told.truth, d.told.mine)
		ruler.Curves = []ui.Curve{
			{Label: "truth", Points: d.told.truth, From: d.told.mine, Ink: ui.Data1, Mark: ui.Dot},
			{Label: "mine", Points: d.told.mine, Ink: ui.Data2, Mark: ui.Square, Dash: ui.Dashed},
		}
	}
	return ruler
}

func (d *drill) dialogue() *ui.Dialogue {
	n := len(d.sitting.Session.Records())
	text := "Nothing has been answered yet."
	switch {
	case n == 1:
		text = "The trial you answered is kept."
	case n > 1:
		text = fmt.Sprintf("The %d trials you answered are kept.", n)
	}
	if d.step == asking {
		text += " The one that is open is forgotten."
	}
	return &ui.Dialogue{
		Title: "Stop here?", Text: text, Cancel: "stay",
		Buttons: []ui.Button{{ID: "stay", Label: "Go on", Primary: true}, {ID: "stop", Label: "Stop"}},
	}
}
