package scene

import (
	"fmt"

	"strop/drills"
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
	if d.round == nil {
		return drills.TitleBy(d.sitting.Tool.Title, d.sitting.Rung.Title)
	}
	return drills.TitleBy(d.round.Tool.Title, d.round.Rung.Title)
}

func (d *drill) aside() string {
	return fmt.Sprintf("trial %d of %d   %s", d.round.Trial.Number, d.sitting.Trials, d.round.Clip.Name)
}

var (
	soloKey  = ui.Binding{Keys: []ui.Key{"s"}, ID: "solo", Does: "alone, while held", Held: true}
	againKey = ui.Binding{Keys: []ui.Key{"r"}, ID: "again", Does: "from the top"}
	leaveKey = ui.Binding{Keys: []ui.Key{ui.KeyEscape}, ID: "leave", Does: "stop here"}
)

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
	items := []ui.Item{
		play,
		ui.Choice{ID: "side", Options: sides[:max(2, d.offered)], Chosen: d.side, Tip: d.loudness()},
		ui.Grow{Item: ui.Space{}},
	}
	items = append(items, d.soloItems()...)
	return ui.Row{Items: append(items, ui.Button{ID: "again", Label: "From the top", Mark: ui.Back})}
}

// loudness says how loud the sides are.
func (d *drill) loudness() string {
	if d.round.Tool.LevelAsked {
		return "What you hear. Level is what is asked: the sides are not matched."
	}
	return "What you hear. All sides are equally loud."
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
	give := ui.Button{ID: "answer", Label: "Answer", Primary: true}
	k, turned := d.surface.(*knobs)
	if turned && k.meant == nil {
		give.Label = "This is the move"
	}
	if d.step == grading {
		give.Off = "being graded"
	}
	row := []ui.Item{give}
	first := []ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "answer", Does: "answer"}}
	if d.round.Tool.NothingShare > 0 {
		row = append(row, ui.Button{ID: "nothing", Label: "Nothing was changed"})
	}
	row = append(row, ui.Grow{Item: ui.Text{Text: d.hint(), Size: ui.Small, Ink: ui.SoftInk}})
	page := ui.Page{
		Name: "drill", Title: d.title(), Aside: d.aside(), Question: d.round.Question,
		Body:  ui.Column{Items: append(d.top(), ui.Grow{Item: d.surface.item()}, ui.Row{Items: row})},
		Keys:  keys(first, d.lastKeys()...),
		Focus: surfaceID,
	}
	if turned {
		page.Focus = knobID + d.round.Tool.Knobs()[0].ID
	}
	return page
}

// lastKeys are what not every trial has, and how to leave.
func (d *drill) lastKeys() (last []ui.Binding) {
	if d.round.Tool.NothingShare > 0 {
		last = append(last, ui.Binding{Keys: []ui.Key{"n"}, ID: "nothing", Does: "nothing was changed"})
	}
	if d.offered > mine {
		last = append(last, ui.Binding{Keys: []ui.Key{"m"}, ID: "mine", Does: "mine"})
	}
	if d.round.Solo[0] != nil {
		last = append(last, soloKey)
	}
	last = append(last, againKey, leaveKey)
	if _, ok := d.surface.(*cards); ok {
		last = append(cardKeys(len(d.round.Rung.Choices)), last...)
	}
	return last
}

// hint says how an answer is given, and how long a stem was heard alone.
func (d *drill) hint() string {
	if text := d.soloText(); text != "" {
		return d.surface.hint() + "; " + text
	}
	return d.surface.hint()
}

func (d *drill) truthPage() ui.Page {
	verdict := "Wrong. "
	if d.outcome.Record.Score.Right {
		verdict = "Right. "
	}
	next := ui.Button{ID: "next", Label: "Next trial", Mark: ui.Forth, Primary: true}
	if d.round.Trial.Number == d.sitting.Trials {
		next.Label = "Finish"
	}
	if d.hurry {
		next.Off = "being prepared"
	}
	body := d.top()
	if d.problem != nil {
		body = append(body, ui.Note{Text: sentence(d.problem), Problem: true})
	}
	body = append(body, d.st.unkept.items()...)
	body = append(body, ui.Grow{Item: d.surface.told(d.outcome, d.told)}, ui.Row{Items: []ui.Item{next, ui.Grow{Item: ui.Space{}}}})
	last := []ui.Binding{{Keys: []ui.Key{"m"}, ID: "mine", Does: "mine"}}
	if d.round.Solo[0] != nil {
		last = append(last, soloKey)
	}
	last = append(last, againKey, leaveKey)
	return ui.Page{
		Name: "feedback", Title: d.title(), Aside: d.aside(), Question: verdict + d.outcome.Tell,
		Body: ui.Column{Items: body},
		Keys: keys([]ui.Binding{{Keys: []ui.Key{ui.KeyEnter}, ID: "next", Does: "next trial"}},
			append(d.st.unkept.keys(), last...)...),
		Focus: "side", Progress: d.told.part,
	}
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
