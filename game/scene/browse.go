package scene

import (
	"context"
	"path/filepath"
	"strings"

	"strop/game/ui"
)

// Folders is where files are looked for.
type Folders interface {
	// List is what is in a folder that may be opened: folders first. The path
	// comes back whole; "" is where to begin.
	List(folder string) (path string, entries []Entry, err error)
	// HasDialogue reports whether the system has a dialogue of its own.
	HasDialogue() bool
	// Dialogue lets the system ask for a file. It waits for the answer; "" is
	// none.
	Dialogue(ctx context.Context, title string) (path string, err error)
}

// Entry is a folder, or a file that may be material.
type Entry struct {
	Name   string
	Folder bool
	Aside  string // its size
}

// browse looks through folders for a file.
type browse struct {
	st      *Stage
	moved   *Moved // what is looked for; nil: anything
	path    string // the folder that is shown
	typed   string // in the field
	entries []Entry
	chosen  int
	problem error
	focus   string
}

var _ Scene = (*browse)(nil)

// newBrowse looks through a folder; "" is where to begin.
func newBrowse(st *Stage, folder string) *browse {
	b := &browse{st: st, focus: "files"}
	b.enter(folder)
	return b
}

// newFind looks for a material that was moved.
func newFind(st *Stage, m Moved) *browse {
	b := newBrowse(st, filepath.Dir(m.Material.Path))
	if b.problem != nil {
		b.enter("")
	}
	b.moved = &m
	return b
}

func (b *browse) enter(folder string) {
	path, entries, err := b.st.world.Folders.List(folder)
	if b.problem = err; err != nil {
		return
	}
	was := b.path
	b.path, b.typed, b.entries, b.chosen = path, path, entries, 0
	for i, e := range entries {
		if filepath.Join(path, e.Name) == was {
			b.chosen = i
		}
	}
}

func (b *browse) Do(a ui.Action) {
	switch a.Kind {
	case ui.Changed:
		b.changed(a)
	case ui.Submit:
		b.submitted(a)
	case ui.Pressed:
		b.pressed(a.ID)
	}
}

func (b *browse) changed(a ui.Action) {
	switch a.ID {
	case "files":
		b.chosen = a.Index
	case "path":
		b.typed, b.problem = a.Text, nil
	}
}

func (b *browse) submitted(a ui.Action) {
	switch a.ID {
	case "files":
		b.chosen = a.Index
		b.take()
	case "path":
		b.goTo(strings.TrimSpace(a.Text))
	}
}

func (b *browse) pressed(id string) {
	switch id {
	case "take":
		b.take()
	case "folder":
		b.found(b.folder())
	case "up":
		b.enter(filepath.Dir(b.path))
	case "dialogue":
		b.st.ask(func(m Material) { b.found(m.Path) })
	case "back":
		b.st.back()
	}
}

// take enters the folder that is chosen, or opens the file.
func (b *browse) take() {
	if b.chosen < 0 || b.chosen >= len(b.entries) {
		return
	}
	path := filepath.Join(b.path, b.entries[b.chosen].Name)
	if b.entries[b.chosen].Folder {
		b.enter(path)
		return
	}
	b.found(path)
}

// folder is the one that is chosen, or else the one that is shown.
func (b *browse) folder() string {
	if b.chosen >= 0 && b.chosen < len(b.entries) && b.entries[b.chosen].Folder {
		return filepath.Join(b.path, b.entries[b.chosen].Name)
	}
	return b.path
}

// goTo takes a path that was typed: a folder is entered, a file opened.
func (b *browse) goTo(path string) {
	if path == "" {
		return
	}
	if _, _, err := b.st.world.Folders.List(path); err == nil {
		b.enter(path)
		b.focus = "files"
		return
	}
	b.found(path)
}

func (b *browse) found(path string) {
	m := Material{Path: path}
	if b.moved != nil {
		m.Hash = b.moved.Material.Hash
	}
	b.st.back()
	b.st.take(m)
}

func (b *browse) Page() ui.Page {
	list := ui.List{ID: "files", Chosen: b.chosen, Show: 6, Empty: "Nothing here that could be material."}
	for _, e := range b.entries {
		name := e.Name
		if e.Folder {
			name += "/"
		}
		list.Rows = append(list.Rows, ui.ListRow{Text: name, Aside: e.Aside})
	}
	field := ui.Field{ID: "path", Label: "path of a folder or a file", Value: b.typed}
	if b.problem != nil {
		field.Problem = sentence(b.problem)
	}
	buttons := ui.Row{Gap: ui.Tight, Items: []ui.Item{
		ui.Button{ID: "take", Label: "Open", Primary: true},
		ui.Button{ID: "folder", Label: "Folder of stems", Tip: "The folder that is chosen, or else the one that is shown, as one song."},
		ui.Button{ID: "up", Label: "Folder above", Mark: ui.Back},
	}}
	if b.st.world.Folders.HasDialogue() {
		buttons.Items = append(buttons.Items, ui.Button{ID: "dialogue", Label: "System's dialogue"})
	}
	p := ui.Page{
		Name: "browse", Title: "Open a file", Aside: "read where they are, never changed",
		Body: ui.Column{Items: []ui.Item{field, ui.Grow{Item: list}, buttons}},
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter}, ID: "take", Does: "open"},
			{Keys: []ui.Key{"s"}, ID: "folder", Does: "open the folder as stems of one song"},
			{Keys: []ui.Key{ui.KeyBackspace}, ID: "up", Does: "folder above"},
			{Keys: []ui.Key{"/"}, ID: "path", Does: "type a path"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: b.focus,
	}
	if b.moved != nil {
		p.Title, p.Question = "Where is it now?", filepath.Base(b.moved.Material.Path)+" has moved."
	}
	return p
}

// ask lets the system's own dialogue ask for a file, which is then taken.
func (st *Stage) ask(take func(Material)) {
	folders := st.world.Folders
	if !folders.HasDialogue() {
		return
	}
	st.work(func(ctx context.Context) func() {
		path, err := folders.Dialogue(ctx, "Open a song")
		return func() {
			switch {
			case err != nil:
				st.warn(err)
			case path != "":
				take(Material{Path: path})
			}
		}
	})
}
