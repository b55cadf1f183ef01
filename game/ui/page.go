package ui

// Page is one screen. A scene makes it anew from its state whenever that
// changes; the zero value is an empty sheet.
type Page struct {
	Name     string // which screen, such as "drill"; focus and scrolling start afresh when it changes
	Title    string // left in the head line, and of the window
	Aside    string // right in the head line, such as "trial 3 of 12"
	Question string // the one thing that is asked, in one sentence, written large
	Body     Item
	Keys     []Binding // the only table of keys: the foot line, buttons and help are made from it
	Focus    string    // ID that gets the keyboard when the page opens, and whenever Focus changes
	Dialogue *Dialogue // in front of everything, takes all keys
	Toast    Toast     // one sentence about what just happened; the scene takes it away
	Progress float64   // 0 to 1: how far curves have gone from From to Points
}

// Item is anything on a page. The types of this package are all there are:
//
//	arranging   Column, Row, Stack, Panel, Grow, Space, Divider
//	reading     Text, Note, Progress, Chart
//	touching    Scroll, Button, Choice, Field, Slider, List, Table, Grid, Ruler, Arc, Waveform
type Item interface {
	width(p *pass) float64                 // natural width, px
	height(p *pass, width float64) float64 // height it needs at a width, px
	draw(p *pass, r Rect)
	say(s *speech)
}

// control is an Item that can have the keyboard.
type control interface {
	Item
	id() string                      // empty while it cannot be used
	tip() string                     // one sentence of help, may be empty
	handle(in *input) (Action, bool) // false: the event is not for it
}

// binding finds the key that presses id, or false.
func (p *Page) binding(id string) (Binding, bool) {
	for _, b := range p.Keys {
		if b.ID == id && id != "" && len(b.Keys) > 0 {
			return b, true
		}
	}
	return Binding{}, false
}
