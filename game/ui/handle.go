package ui

import (
	"slices"
	"strings"
)

// input is an event on its way to a control.
type input struct {
	Event
	frame *Frame
	box   Box
	state *State
}

// Handle says what an event means on this frame: the state to lay the next
// frame out with, and the action for the scene, of kind Nothing if there is none.
func (f *Frame) Handle(e Event) (State, Action) {
	s := f.state
	return s, f.handle(&s, e)
}

func (f *Frame) handle(s *State, e Event) Action {
	switch e.Kind {
	case KeyDown, Typed:
		s.Tip = keepTip(s.Tip, e)
		return f.key(s, e)
	case KeyUp:
		return f.lifted(e.Key)
	case Press:
		return f.press(s, e)
	case Move, Release:
		return f.drag(s, e)
	case Rest:
		s.Tip = s.Hover
	case Wheel:
		return f.wheel(s, e)
	case Drop:
		if len(e.Paths) > 0 {
			return Action{Kind: Dropped, Paths: slices.Clone(e.Paths)}
		}
	}
	return Action{}
}

func keepTip(tip string, e Event) string {
	if e.Key == KeyF1 {
		return tip
	}
	return ""
}

// key offers a key to whoever may want it first: the focused control, moving
// about, the page's own keys. A bound Space goes before a button's.
func (f *Frame) key(s *State, e Event) Action {
	if e.Key == KeyEscape && f.state.Tip != "" {
		return Action{}
	}
	box, focused := f.box(f.focus)
	_, typing := box.item.(Field)
	if e.Text == " " && !typing {
		if a, ok := f.bound(s, e); ok {
			return a
		}
	}
	if focused {
		if a, ok := box.item.(control).handle(&input{e, f, box, s}); ok {
			return a
		}
	}
	if f.move(s, e.Key) {
		return Action{}
	}
	if d := f.page.Dialogue; d != nil {
		if e.Key == KeyEscape {
			return Action{Kind: Pressed, ID: d.Cancel}
		}
		return Action{}
	}
	a, _ := f.bound(s, e)
	return a
}

// lifted tells of a held key that was let go.
func (f *Frame) lifted(key Key) Action {
	for _, b := range f.page.Keys {
		if b.Held && b.has(key) {
			return Action{Kind: Released, ID: b.ID}
		}
	}
	return Action{}
}

// bound looks an event up in the page's key table.
func (f *Frame) bound(s *State, e Event) (Action, bool) {
	key := e.Key
	if e.Kind == Typed {
		key = Key(strings.ToLower(e.Text))
	}
	if f.page.Dialogue != nil || key == "" {
		return Action{}, false
	}
	for _, b := range f.page.Keys {
		if b.has(key) {
			return f.follow(s, b), true
		}
	}
	return Action{}, false
}

// follow does what a binding says: choose an option, focus a control, or press.
func (f *Frame) follow(s *State, b Binding) Action {
	for _, box := range f.reachable() {
		if c, ok := box.item.(Choice); ok {
			if i := c.option(b.ID); i >= 0 {
				return c.changed(i)
			}
		}
	}
	box, ok := f.box(b.ID)
	if _, button := box.item.(Button); ok && !button {
		f.focusOn(s, b.ID)
		return Action{}
	}
	if !ok && f.off(b.ID) {
		return Action{}
	}
	return Action{Kind: Pressed, ID: b.ID}
}

// off reports whether id is a button that cannot be pressed now.
func (f *Frame) off(id string) bool {
	return slices.ContainsFunc(f.Boxes, func(b Box) bool {
		button, ok := b.item.(Button)
		return ok && button.ID == id && button.Off != ""
	})
}

// move is the keys that every page has. It reports whether key was one.
func (f *Frame) move(s *State, key Key) bool {
	switch key {
	case KeyTab:
		f.focusOn(s, f.Next(f.focus, 1))
	case KeyBackTab:
		f.focusOn(s, f.Next(f.focus, -1))
	case KeyF1:
		box, ok := f.box(f.focus)
		if !ok || tipOf(box.item) == "" || s.Tip == f.focus {
			s.Tip = ""
			return false
		}
		s.Tip = f.focus
	case KeyArrowUp, KeyArrowDown, KeyPageUp, KeyPageDown, KeyHome, KeyEnd:
		return f.scrollKey(s, key)
	default:
		return false
	}
	return true
}

func tipOf(it Item) string {
	if c, ok := it.(control); ok {
		return c.tip()
	}
	return ""
}

// focusOn gives an item the keyboard and shows it.
func (f *Frame) focusOn(s *State, id string) {
	if id == "" {
		return
	}
	if f.page.Dialogue != nil {
		s.Modal = id
	} else {
		s.Focus = id
	}
	s.Caret = endOfText
	f.reveal(s)
}

// scrollKey scrolls what holds the focus, or else the page.
func (f *Frame) scrollKey(s *State, key Key) bool {
	i := f.outermost()
	if box, ok := f.box(f.focus); ok {
		i = box.scroller
	}
	return f.scrollStep(s, i, key)
}

// scrollStep scrolls one scroller as far as a key says.
func (f *Frame) scrollStep(s *State, i int, key Key) bool {
	if i < 0 {
		return false
	}
	sc := f.scrollers[i]
	var by float64
	switch key {
	case KeyArrowUp, KeyArrowDown:
		by = 48
	case KeyPageUp, KeyPageDown:
		by = sc.window.H * 0.8
	case KeyHome, KeyEnd:
		by = sc.contentPx
	}
	if key == KeyArrowUp || key == KeyPageUp || key == KeyHome {
		by = -by
	}
	return f.scrollBy(s, i, by)
}

// outermost is the scroller of the page, -1 behind a dialogue.
func (f *Frame) outermost() int {
	if f.page.Dialogue != nil || len(f.scrollers) == 0 {
		return -1
	}
	return 0
}

// scrollBy scrolls one scroller, or the one it lies in where it cannot.
func (f *Frame) scrollBy(s *State, i int, px float64) bool {
	for ; i >= 0; i = f.scrollers[i].parent {
		sc := f.scrollers[i]
		if to := min(max(0, sc.offsetPx+px), sc.most()); to != sc.offsetPx {
			s.scrollTo(sc.id, to)
			return true
		}
	}
	return false
}

func (f *Frame) press(s *State, e Event) Action {
	s.Tip = ""
	if i := f.scrollerAt(e.At); i >= 0 && f.scrollers[i].most() > 0 && f.scrollers[i].bar().Has(e.At) {
		s.Bar = f.scrollers[i].id
		s.scrollTo(s.Bar, f.scrollers[i].dragged(e.At.Y))
		return Action{}
	}
	box, ok := f.boxAt(e.At)
	if !ok {
		return Action{}
	}
	if box.ID != f.focus {
		s.Caret = endOfText
	}
	if f.page.Dialogue != nil {
		s.Modal = box.ID
	} else {
		s.Focus = box.ID
	}
	s.Held, s.Hover = box.ID, box.ID
	a, _ := box.item.(control).handle(&input{e, f, box, s})
	return a
}

// drag follows the pointer, and hands it to the control it went down on.
func (f *Frame) drag(s *State, e Event) Action {
	if over := f.At(e.At); over != s.Hover {
		s.Hover, s.Tip = over, ""
	}
	if sc, ok := f.scroller(s.Bar); ok && e.Kind == Move {
		s.scrollTo(s.Bar, sc.dragged(e.At.Y))
	}
	box, ok := f.box(s.Held)
	if e.Kind == Release {
		s.Held, s.Bar = "", ""
	}
	if !ok {
		return Action{}
	}
	a, _ := box.item.(control).handle(&input{e, f, box, s})
	return a
}

// wheel turns the focused control under the pointer, and else scrolls.
func (f *Frame) wheel(s *State, e Event) Action {
	if box, ok := f.boxAt(e.At); ok && box.ID == f.focus {
		if a, ok := box.item.(control).handle(&input{e, f, box, s}); ok {
			return a
		}
	}
	f.scrollBy(s, f.scrollerAt(e.At), -48*e.Notches)
	return Action{}
}

// scrollerAt is the innermost scroller under p, or -1.
func (f *Frame) scrollerAt(p Point) int {
	first := 0
	if f.page.Dialogue != nil {
		first = f.frontScroller()
	}
	for i := len(f.scrollers) - 1; i >= first; i-- {
		if f.scrollers[i].window.Has(p) {
			return i
		}
	}
	return -1
}

func (f *Frame) frontScroller() int {
	n := len(f.scrollers)
	for _, b := range f.Boxes[f.front:] {
		if b.scroller >= 0 {
			n = min(n, b.scroller)
		}
	}
	return n
}

func (f *Frame) scroller(id string) (scroller, bool) {
	i := slices.IndexFunc(f.scrollers, func(sc scroller) bool { return sc.id == id })
	if i < 0 || id == "" {
		return scroller{}, false
	}
	return f.scrollers[i], true
}
