package scene

import (
	"fmt"

	"strop/game/ui"
)

// Source is something that the built-in songs are made of, and whose it is.
type Source struct {
	What, Author, Licence, Package string
	Files                          int
}

// sources is whose samples the built-in songs are made of.
type sources struct {
	st     *Stage
	chosen int
}

var _ Scene = (*sources)(nil)

func (s *sources) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "sources":
		s.chosen = a.Index
	case a.Kind == ui.Pressed && a.ID == "back":
		s.st.back()
	}
}

func (s *sources) Page() ui.Page {
	all := s.st.world.Sources
	table := ui.Table{ID: "sources", Label: "samples", Chosen: s.chosen, Show: 9, Columns: []ui.TableColumn{{Title: "what"}, {Title: "licence"}, {Title: "files", Number: true}}}
	for _, source := range all {
		table.Rows = append(table.Rows, []string{source.What, source.Licence, fmt.Sprint(source.Files)})
	}
	items := []ui.Item{ui.Text{Text: "Melodies, words and titles of the built-in songs are our own. The sounds they are played with were made by others, who let everybody use them. They were changed: trimmed, resampled, and in rendering filtered, mixed and pitched."}, table}
	if len(all) > 0 {
		chosen := all[s.chosen]
		items = append(items, ui.Panel{Title: chosen.What, Item: ui.Text{Text: sourceText(chosen)}})
	}
	return ui.Page{
		Name: "sources", Title: "Sources and licences", Body: ui.Column{Items: append(items, ui.Row{Items: []ui.Item{ui.Button{ID: "back", Label: "Back"}}})},
		Keys:  []ui.Binding{{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"}},
		Focus: "sources",
	}
}

// sourceText is whose it is, and on what terms.
func sourceText(s Source) string {
	licence := s.Licence
	if licence == "CC-BY-3.0" {
		licence += " (creativecommons.org/licenses/by/3.0)"
	}
	return s.Author + ". Licence: " + licence + ". From " + s.Package + "."
}
