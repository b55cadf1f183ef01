package scene

import "strop/game/ui"

// help is the key table of the screen it was asked for on, and the keys that
// every screen has.
type help struct {
	st *Stage
	of ui.Page
}

var _ Scene = (*help)(nil)

func (h *help) Do(a ui.Action) {
	if a.Kind == ui.Pressed && a.ID == "back" {
		h.st.back()
	}
}

func (h *help) Page() ui.Page {
	everywhere := append(ui.StandardKeys(),
		ui.Binding{Keys: []ui.Key{"?"}, Does: "all keys"}, ui.Binding{Keys: []ui.Key{"ctrl+q"}, Does: "quit; every answer is kept"})
	return ui.Page{
		Name: "help", Title: "Keys",
		Body: ui.Row{Items: []ui.Item{
			ui.Panel{Title: h.of.Title, Item: keyTable(h.of.Keys)},
			ui.Panel{Title: "Every screen", Item: keyTable(everywhere)},
		}, Stretch: true},
		Keys: []ui.Binding{{Keys: []ui.Key{ui.KeyEscape, "?"}, ID: "back", Does: "back"}},
	}
}

// keyTable is a key table without a label of its own.
func keyTable(keys []ui.Binding) ui.Table {
	t := ui.HelpTable(keys)
	t.Label = ""
	return t
}
