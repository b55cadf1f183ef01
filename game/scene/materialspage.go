package scene

import (
	"fmt"
	"math"
	"slices"

	"strop/drills"

	"strop/game/ui"
)

func (m *materials) Page() ui.Page {
	body := ui.Column{Items: []ui.Item{
		ui.Row{Stretch: true, Items: []ui.Item{ui.Grow{Item: m.songList()}, ui.Grow{Item: m.loopList()}}},
	}}
	body.Items = append(body.Items, m.st.openingItems()...)
	for _, err := range []error{m.problem, m.cutProblem} {
		if err != nil {
			body.Items = append(body.Items, ui.Note{Text: sentence(err), Problem: true})
		}
	}
	body.Items = append(body.Items, m.buttons(), ui.Grow{Item: m.waveform()})
	return ui.Page{Name: "material", Title: "Material", Aside: m.aside(), Body: body, Keys: m.keys(), Focus: "songs"}
}

func (m *materials) keys() []ui.Binding {
	keys := []ui.Binding{
		{Keys: []ui.Key{ui.KeySpace}, ID: "hear", Does: "hear the loop"},
		{Keys: []ui.Key{"o"}, ID: "browse", Does: "open a file or folder"},
		{Keys: []ui.Key{"s"}, ID: "stems", Does: "stems, faders, tags"},
		{Keys: []ui.Key{"i"}, ID: "intake", Does: "look it over"},
		{Keys: []ui.Key{"n"}, ID: "turn", Does: "the next of the list in turn"},
		{Keys: []ui.Key{"f"}, ID: "favour", Does: "favourite or not"},
		{Keys: []ui.Key{"a"}, ID: "all", Does: "all loops"},
		{Keys: []ui.Key{"v"}, ID: "liked", Does: "favourites only"},
		{Keys: []ui.Key{"t"}, ID: "this", Does: "this loop only"},
		{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
	}
	if m.st.world.Folders.HasDialogue() {
		keys = append(keys, ui.Binding{Keys: []ui.Key{"d"}, ID: "dialogue", Does: "the system's dialogue"})
	}
	return keys
}

func (m *materials) aside() string {
	if m.song == nil {
		return ""
	}
	about := m.song.About()
	return about.Title + ", " + aboutText(about)
}

func (m *materials) songList() ui.Item {
	list := ui.List{ID: "songs", Label: "songs: Enter takes one", Chosen: m.chosen, Show: 5,
		Empty: "Open a file, or drop one here.", Tip: "What you used before, then the built-in pieces."}
	shown := m.listed()
	using := m.inUse(shown)
	for i, k := range shown {
		aside := "built in"
		switch {
		case i == using:
			aside = "in use"
		case k.Missing:
			aside = "not there now"
		case k.Path != "" && k.DurationS > 0:
			aside = clock(k.DurationS)
		}
		list.Rows = append(list.Rows, ui.ListRow{Text: k.Title, Aside: aside})
	}
	return ui.Column{Gap: ui.Tight, Items: []ui.Item{m.filterChoice(), list}}
}

func (m *materials) filterChoice() ui.Item {
	c := ui.Choice{ID: "filter", Tip: "Which songs are listed."}
	for i, f := range m.filters() {
		if f == m.filter {
			c.Chosen = i
		}
		if f == "" {
			f = "all"
		}
		c.Options = append(c.Options, ui.Option{Label: f})
	}
	return c
}

func (m *materials) loopList() ui.Item {
	label := "loops: Enter plays one"
	if !m.measured {
		label = "loops: still listening for more"
	}
	list := ui.List{ID: "loops", Label: label, Chosen: m.loop, Show: 5, Empty: "They appear as the song is decoded."}
	liked := m.favourites()
	for _, r := range m.loops {
		text := clock(r.loS()) + " to " + clock(r.hiS())
		if slices.Contains(liked, r.loop) {
			text += ", liked"
		}
		list.Rows = append(list.Rows, ui.ListRow{
			Text:  text,
			Aside: fmt.Sprintf("%.1f s   −%.1f LUFS", r.hiS()-r.loS(), -r.lufs),
		})
	}
	return list
}

func (m *materials) favourites() []drills.Loop {
	if m.song == nil {
		return nil
	}
	sheet, _ := m.song.Sheet()
	return sheet.Favourites
}

func (m *materials) buttons() ui.Item {
	hear := ui.Button{ID: "hear", Label: "Hear", Mark: ui.Play, Tip: "As loud as a trial."}
	if m.playing {
		hear.Label, hear.Mark = "Stop", ui.Stop
	}
	row := ui.Row{Gap: ui.Tight, Items: []ui.Item{
		hear,
		ui.Choice{ID: "which", Options: []ui.Option{{ID: "all", Label: "all loops"}, {ID: "liked", Label: "favourites"}, {ID: "this", Label: "this loop only"}},
			Chosen: m.chosenWhich(), Tip: "What trials are made of."},
		ui.Button{ID: "favour", Label: "Favourite", Tip: "The loop that is shown, from now on or no longer."},
	}}
	song := ui.Row{Gap: ui.Tight, Items: []ui.Item{
		ui.Button{ID: "stems", Label: "Stems", Tip: "What each stem is, the rough mix, tags and collections."},
		ui.Button{ID: "intake", Label: "Look over", Tip: "What an engineer who takes a job in wants to know of every stem."},
		ui.Button{ID: "turn", Label: "Next in turn", Tip: "Of the songs that are listed, the one used longest ago."},
		ui.Grow{Item: ui.Space{}},
		ui.Button{ID: "browse", Label: "Open"},
	}}
	if m.st.world.Folders.HasDialogue() {
		song.Items = append(song.Items, ui.Button{ID: "dialogue", Label: "System's dialogue"})
	}
	switch {
	case m.st.desk.opening != nil:
		song.Items = append(song.Items, ui.Button{ID: "cancel", Label: "Cancel", Mark: ui.Cross})
	case m.st.desk.moved != nil:
		song.Items = append(song.Items, ui.Button{ID: "find", Label: "Say where it is"})
	}
	return ui.Column{Gap: ui.Tight, Items: []ui.Item{row, song}}
}

// chosenWhich is 0 for all loops, 1 for the favourites, 2 where the one that is practised on is the
// one that is shown, -1 where it is another.
func (m *materials) chosenWhich() int {
	switch only := m.st.desk.only; {
	case len(m.st.desk.liked) > 0:
		return 1
	case only == nil:
		return 0
	case m.loop >= 0 && m.loops[m.loop].loop == only.Loop:
		return 2
	}
	return -1
}

func (m *materials) waveform() ui.Item {
	w := ui.Waveform{ID: "wave", Label: "draw a loop of your own with the mouse", Scale: ui.Scale{Min: 0, Max: 1}, Peaks: m.peaks}
	if m.song == nil {
		return w
	}
	lengthS := max(m.song.About().DurationS, m.hiS, 1)
	w.Scale = timeScale(lengthS)
	w.Lo, w.Hi = m.loS, min(m.hiS, lengthS)
	w.LoopText = fmt.Sprintf("loop %s to %s", clock(m.loS), clock(m.hiS))
	if only := m.st.desk.only; only != nil {
		w.LoopText = "practised on: " + only.Name
	}
	w.Playing, w.Playhead = m.playing, m.playheadS
	w.Tip = "Arrow keys move the loop, with Shift its end."
	return w
}

// timeScale rules a song so that its labels stand at round times.
func timeScale(lengthS float64) ui.Scale {
	s := ui.Scale{Min: 0, Max: lengthS, Step: 0.1, Coarse: 50}
	every := 5.0
	for lengthS/every > 12 {
		every *= 2
		if every == 40 {
			every = 30
		}
	}
	for at := 0.0; at <= lengthS; at += every / 2 {
		tick := ui.Tick{Value: at}
		if math.Mod(at, every) == 0 {
			tick.Label = clock(at)
		}
		s.Ticks = append(s.Ticks, tick)
	}
	return s
}
