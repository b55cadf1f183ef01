package scene

import (
	"context"
	"fmt"

	"strop/game/ui"
)

// Rescue saves answers that the history could not take.
type Rescue interface {
	// Unkept is how many answers are held in memory, and why; nil where the
	// history takes them.
	Unkept() (answers int, why error)
	// Rescue writes them to a new file in the first of some folders that takes
	// it, and returns a sentence that says where they are.
	Rescue(folders ...string) (told string, err error)
}

// unkept is what of the answers is held in memory alone.
type unkept struct {
	answers int
	why     error
}

func (w World) unkept() (u unkept) {
	u.answers, u.why = w.Rescue.Unkept()
	return u
}

// items say that answers are held, and offer to save them.
func (u unkept) items() []ui.Item {
	switch {
	case u.why == nil:
		return nil
	case u.answers == 0:
		return []ui.Item{ui.Note{Text: sentence(u.why) + " Answers are held in memory, and saved to a file when strop ends.", Problem: true}}
	}
	note := ui.Note{Text: fmt.Sprintf("%s in memory alone. %s", capital(held(u.answers)), sentence(u.why)), Problem: true}
	return []ui.Item{ui.Row{Items: []ui.Item{ui.Grow{Item: note}, ui.Button{ID: "rescue", Label: "Save elsewhere"}}}}
}

// keys are how to come to what items offer.
func (u unkept) keys() []ui.Binding {
	if u.answers == 0 {
		return nil
	}
	return []ui.Binding{{Keys: []ui.Key{"e"}, ID: "rescue", Does: "save the answers elsewhere"}}
}

// held is "1 answer is", "3 answers are".
func held(answers int) string {
	if answers == 1 {
		return "1 answer is"
	}
	return count(answers, "answer") + " are"
}

// rescuing asks for a folder, and saves the answers there.
type rescuing struct {
	st      *Stage
	folder  string
	told    string // where they are
	saving  bool
	problem error
}

var _ Scene = (*rescuing)(nil)

func newRescuing(st *Stage) *rescuing {
	r := &rescuing{st: st}
	r.folder, _, _ = st.world.Folders.List("") // without a home folder it is typed
	return r
}

func (r *rescuing) Do(a ui.Action) {
	switch {
	case a.Kind == ui.Changed && a.ID == "folder":
		r.folder, r.problem, r.told = a.Text, nil, ""
	case a.Kind == ui.Submit, a.Kind == ui.Pressed && a.ID == "save":
		r.save()
	case a.Kind == ui.Pressed && a.ID == "back":
		r.st.back()
	}
}

func (r *rescuing) save() {
	if r.saving {
		return
	}
	path, _, err := r.st.world.Folders.List(r.folder)
	if err != nil {
		r.problem = err
		return
	}
	rescue := r.st.world.Rescue
	r.saving = true
	r.st.work(func(context.Context) func() {
		told, err := rescue.Rescue(path)
		return func() { r.saving, r.told, r.problem = false, told, err }
	})
}

func (r *rescuing) Page() ui.Page {
	field := ui.Field{ID: "folder", Label: "a folder on a disk that has room", Value: r.folder}
	if r.problem != nil {
		field.Problem = sentence(r.problem)
	}
	u := r.st.unkept
	body := ui.Column{Items: []ui.Item{ui.Text{Text: sentence(u.why) + " What is saved elsewhere is read again by strop import."}, field}}
	if r.told != "" {
		body.Items = append(body.Items, ui.Note{Text: capital(r.told)})
	}
	body.Items = append(body.Items, ui.Row{Gap: ui.Tight, Items: []ui.Item{
		ui.Button{ID: "save", Label: "Save", Primary: true}, ui.Button{ID: "back", Label: "Back"},
	}})
	return ui.Page{
		Name: "rescue", Title: "Save elsewhere", Question: capital(held(u.answers)) + " in memory alone.", Body: body,
		Keys: []ui.Binding{
			{Keys: []ui.Key{ui.KeyEnter}, ID: "save", Does: "save"},
			{Keys: []ui.Key{ui.KeyEscape}, ID: "back", Does: "back"},
		},
		Focus: "folder",
	}
}
