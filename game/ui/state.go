package ui

import "maps"

// State is what the window remembers between frames and the scene need not
// know. The zero value is right for the first frame.
type State struct {
	Focus  string             // ID that has the keyboard
	Modal  string             // the same inside the dialogue
	Hover  string             // ID under the pointer
	Held   string             // ID that the mouse button went down on
	Bar    string             // ID of the scrolling whose bar is being dragged
	Tip    string             // ID whose tooltip is shown
	Caret  int                // in the field that has the keyboard, in characters
	Anchor float64            // where a drag began, on the control's own scale
	Scroll map[string]float64 // ID to px that are scrolled away

	page, asked string // last page name and focus wish
	open        string // title of the dialogue that was open
}

// of brings a state to a page: fresh on a new one, and with the focus it asks for.
func (s State) of(p *Page) State {
	if s.page != p.Name {
		s = State{page: p.Name}
	}
	if s.asked != p.Focus {
		s.asked, s.Focus, s.Caret = p.Focus, p.Focus, endOfText
	}
	open := ""
	if p.Dialogue != nil {
		open = p.Dialogue.Title
	}
	if s.open != open {
		s.open, s.Modal, s.Caret, s.Held, s.Bar, s.Tip = open, "", endOfText, "", "", ""
	}
	return s
}

const endOfText = 1 << 30

func (s *State) scrollTo(id string, px float64) {
	if s.Scroll[id] == px {
		return
	}
	s.Scroll = maps.Clone(s.Scroll)
	if s.Scroll == nil {
		s.Scroll = map[string]float64{}
	}
	s.Scroll[id] = px
}
