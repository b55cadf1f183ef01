package scene

import (
	"cmp"
	"context"
	"fmt"

	"strop/drills"
	"strop/drills/progress"
	"strop/game/ui"
)

// today is the first screen: what is due, on what, and how it went last.
type today struct {
	st       *Stage
	standing *Standing // of the one drill that is practised; nil until the records are read
	plan     *Plan     // of the day, where no drill was chosen
	records  []drills.Record
	problem  error
}

var (
	_ Scene  = (*today)(nil)
	_ shower = (*today)(nil)
)

func (t *today) shown() {
	w := t.st.wish()
	world := t.st.world
	if w.Tool == "" {
		t.showPlan(w)
		return
	}
	t.plan = nil
	t.st.work(func(ctx context.Context) func() {
		standing, err := world.Drills.Stand(ctx, w)
		if err != nil {
			return func() { t.problem = err }
		}
		records, err := world.History.Records(ctx, standing.Tool.ID)
		return func() { t.standing, t.records, t.problem = &standing, records, err }
	})
}

// showPlan lays the day out.
func (t *today) showPlan(w Wish) {
	world := t.st.world
	t.standing = nil
	t.st.work(func(ctx context.Context) func() {
		plan, err := world.Drills.Plan(ctx, w)
		if err != nil {
			return func() { t.problem = err }
		}
		records, err := world.History.Records(ctx, "")
		return func() { t.plan, t.records, t.problem = &plan, records, err }
	})
}

// wish is what is practised now.
func (st *Stage) wish() Wish {
	w := st.world.Wish
	w.Condition = drills.Condition{Transducer: st.prefs.Transducer, Heard: cmp.Or(w.Condition.Heard, drills.InMix)}
	if w.Trials == 0 {
		w.Trials = st.prefs.Trials
	}
	if w.Minutes == 0 {
		w.Minutes = st.prefs.Minutes
	}
	w.Seed += st.sat
	return w
}

func (t *today) Do(a ui.Action) {
	if a.Kind != ui.Pressed {
		return
	}
	switch a.ID {
	case "start":
		t.st.open(newDrill(t.st))
	case "drills":
		t.st.open(newChoose(t.st))
	case "material":
		t.st.open(newMaterials(t.st))
	case "find":
		t.st.open(newFind(t.st, *t.st.desk.moved))
	case "cancel":
		t.st.stopOpening()
	case "level":
		t.st.open(newLevel(t.st, false))
	case "progress":
		t.st.open(newProgress(t.st))
	case "settings":
		t.st.open(newSettings(t.st))
	case "rescue":
		t.st.open(newRescuing(t.st))
	}
}

func (t *today) Page() ui.Page {
	return ui.Page{
		Name: "today", Title: "strop", Aside: t.st.now.In(t.st.world.Where).Format("Monday, 2 January 2006"),
		Question: t.question(),
		Body: ui.Column{Items: append(t.top(),
			ui.Grow{Item: ui.Row{Stretch: true, Items: []ui.Item{
				ui.Grow{Item: ui.Panel{Title: "Material", Item: t.material()}},
				ui.Grow{Item: ui.Panel{Title: "Last time", Item: t.last()}},
			}}},
			ui.Row{Gap: ui.Tight, Items: []ui.Item{
				ui.Button{ID: "drills", Label: "Drills"},
				ui.Button{ID: "progress", Label: "Progress"},
				ui.Button{ID: "level", Label: "Level"},
				ui.Button{ID: "settings", Label: "Settings"},
			}},
		)},
		Keys: append([]ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter}, ID: "start", Does: "start"},
			{Keys: []ui.Key{"d"}, ID: "drills", Does: "drills"},
			{Keys: []ui.Key{"m"}, ID: "material", Does: "material"},
			{Keys: []ui.Key{"p"}, ID: "progress", Does: "progress"},
			{Keys: []ui.Key{"l"}, ID: "level", Does: "level"},
			{Keys: []ui.Key{"s"}, ID: "settings", Does: "settings"},
		}, t.st.unkept.keys()...),
		Focus: "start",
	}
}

// top is what is due, and why nothing would be heard or kept of it.
func (t *today) top() []ui.Item {
	items := append([]ui.Item{t.due()}, t.st.unkept.items()...)
	if t.st.world.Sound.Heard().Problem == nil {
		return items
	}
	return append(items, soundNote(t.st))
}

func (t *today) question() string {
	if n := t.answersToday(); n > 0 {
		return fmt.Sprintf("%s answered today. Another sitting?", capital(count(n, "trial")))
	}
	if w := t.st.wish(); w.Tool == "" {
		return "Ready for " + count(w.Minutes, "minute") + "?"
	}
	return "Ready for " + count(t.st.wish().Trials, "trial") + "?"
}

func (t *today) answersToday() (n int) {
	day := midnight(t.st.now, t.st.world.Where)
	for _, r := range t.records {
		if midnight(r.At, t.st.world.Where).Equal(day) {
			n++
		}
	}
	return n
}

// due is the drill, and the button that starts it.
func (t *today) due() ui.Item {
	if t.problem != nil {
		return ui.Note{Text: sentence(t.problem), Problem: true}
	}
	text := ui.Column{Gap: ui.Joined}
	if s := t.standing; s != nil {
		text.Items = []ui.Item{
			ui.Text{Text: drills.TitleBy(s.Tool.Title, s.Rung.Title), Size: ui.Head, Bold: true},
			ui.Text{Text: s.Tool.Doc},
			ui.Text{Text: fmt.Sprintf("Now at %s, about %d minutes.", levelText(s.Tool.Level.Name, s.Tool.Level.Unit, s.Level), minutes(t.st.wish().Trials)), Ink: ui.SoftInk},
		}
	}
	if t.plan != nil {
		text.Items = planItems(*t.plan)
	}
	start := ui.Button{ID: "start", Label: "Start", Mark: ui.Play, Primary: true}
	if t.standing == nil && t.plan == nil {
		start.Off = "reading your answers"
	}
	return ui.Row{Items: []ui.Item{start, ui.Grow{Item: text}}}
}

// planItems are the blocks of a plan, each with its reason.
func planItems(p Plan) (items []ui.Item) {
	items = append(items, ui.Text{Text: "Plan of the day", Size: ui.Head, Bold: true})
	for _, b := range p.Blocks {
		text := fmt.Sprintf("%d min  %s. %s", b.Minutes, b.Title, b.Reason)
		if b.Break {
			text += " Then a break."
		}
		items = append(items, ui.Text{Text: text})
	}
	if p.Advice != "" {
		items = append(items, ui.Note{Text: p.Advice})
	}
	return items
}

// minutes is how long trials take, at half a minute each.
func minutes(trials int) int { return max(1, (trials+1)/2) }

// levelText is a place on a tool's ladder: "boost 9.0 dB".
func levelText(name, unit string, level float64) string {
	return name + " " + progress.WithUnit(level, unit)
}

func (t *today) material() ui.Item {
	d := &t.st.desk
	items := []ui.Item{}
	if s := d.song; s != nil && d.opening == nil {
		about := s.About()
		items = append(items, ui.Text{Text: about.Title, Bold: true}, ui.Text{Text: aboutText(about), Ink: ui.SoftInk})
		if d.only != nil {
			items = append(items, ui.Text{Text: "One loop of it: " + d.only.Name})
		}
		if n := len(d.liked); n > 0 {
			items = append(items, ui.Text{Text: "Favourites of it: " + count(n, "loop")})
		}
		if about.Damage != nil {
			items = append(items, ui.Note{Text: sentence(about.Damage), Problem: true})
		}
	}
	items = append(items, t.st.openingItems()...)
	buttons := ui.Row{Gap: ui.Tight}
	switch {
	case d.opening != nil:
		buttons.Items = append(buttons.Items, ui.Button{ID: "cancel", Label: "Cancel", Mark: ui.Cross})
	case d.moved != nil:
		buttons.Items = append(buttons.Items, ui.Button{ID: "find", Label: "Say where it is"})
	}
	buttons.Items = append(buttons.Items, ui.Button{ID: "material", Label: "Change"})
	return ui.Column{Gap: ui.Tight, Items: append(items, buttons)}
}

// openingItems is how a material that is on its way fares, or why it did not
// arrive.
func (st *Stage) openingItems() []ui.Item {
	switch d := &st.desk; {
	case d.opening != nil:
		name := d.opening.name
		if name == "" {
			name = "the material used last"
		}
		text, part := "", d.opening.share()
		if part >= 0 {
			text = fmt.Sprintf("%.0f %%", 100*part)
		}
		return []ui.Item{ui.Progress{Label: "opening " + name, Part: part, Text: text}}
	case d.problem != nil:
		return []ui.Item{ui.Note{Text: sentence(d.problem), Problem: true}}
	}
	return nil
}

// aboutText is "44.1 kHz, 3:12", with how much of it is there.
func aboutText(a About) string {
	text := hertz(a.RateHz)
	if a.DurationS > 0 {
		text += ", " + clock(a.DurationS)
	}
	if a.Decoded >= 0 && a.Decoded < 1 {
		text += fmt.Sprintf(", %.0f %% decoded", 100*a.Decoded)
	}
	return text
}

// last is the sitting before.
func (t *today) last() ui.Item {
	if len(t.records) == 0 {
		text := "No answers yet. Every answer is kept, and shows here and under Progress."
		if t.standing == nil && t.plan == nil {
			text = ""
		}
		return ui.Text{Text: text, Ink: ui.SoftInk}
	}
	records := lastSession(t.records)
	end := records[len(records)-1]
	items := []ui.Item{ui.Text{Text: capital(ago(end.At, t.st.now, t.st.world.Where)) + ", " + t.results(records), Bold: true}}
	p := progress.Summarise(records, t.st.world.Find, t.st.world.Where)
	if r := p.Results[len(p.Results)-1]; r.Overall.Error != nil {
		items = append(items, ui.Text{Text: "Off by " + progress.MeanText(r.Overall.Error.Size, r.Unit) + "."})
	}
	all := progress.Summarise(t.records, t.st.world.Find, t.st.world.Where)
	for _, r := range all.Results {
		if r.Rung != end.Trial.Rung || r.Condition != end.Trial.Condition {
			continue
		}
		for _, b := range r.Biases {
			items = append(items, ui.Note{Text: b.Text})
		}
	}
	return ui.Column{Gap: ui.Tight, Items: append(items, ui.Grow{Item: t.days()})}
}

// days is how far off the listener was, day by day, in what was practised
// last, once there are two.
func (t *today) days() ui.Item {
	if len(t.records) == 0 {
		return ui.Space{}
	}
	end := t.records[len(t.records)-1].Trial
	for _, r := range progress.Summarise(t.records, t.st.world.Find, t.st.world.Where).Results {
		if r.Rung == end.Rung && r.Condition == end.Condition && tellable(r.Days) > 1 {
			return dayChart(r)
		}
	}
	return ui.Space{}
}

// tellable is of how many parts an error can be told.
func tellable(parts []progress.Part) (n int) {
	for _, p := range parts {
		if p.Error != nil {
			n++
		}
	}
	return n
}

// results is "14 of 18 right".
func (t *today) results(records []drills.Record) string {
	right := 0
	for _, r := range records {
		if r.Score.Right {
			right++
		}
	}
	return fmt.Sprintf("%d of %d right", right, len(records))
}

// lastSession is the records of the sitting that was kept last.
func lastSession(records []drills.Record) []drills.Record {
	i := len(records) - 1
	for i > 0 && records[i-1].Trial.Session == records[len(records)-1].Trial.Session {
		i--
	}
	return records[i:]
}

// soundNote says why nothing is heard, and is nothing where there is sound.
func soundNote(st *Stage) ui.Item {
	if err := st.world.Sound.Heard().Problem; err != nil {
		return ui.Note{Text: "Nothing is heard: " + err.Error() + ".", Problem: true}
	}
	return ui.Space{}
}
