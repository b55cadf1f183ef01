package ui

import (
	"fmt"
	"slices"
	"strings"
)

// Frame is a page that has been placed: what to draw, in order, and what lies
// where. It is never changed after Layout.
type Frame struct {
	Commands []Command
	Boxes    []Box // every item, parents before children, in reading order

	page      *Page
	view      View
	state     State
	focus     string
	measurer  Measurer
	scrollers []scroller
	front     int // index of the first box that lies in front of the page
}

// Box is where an item lies.
type Box struct {
	ID     string // empty where there is nothing to touch
	Rect   Rect
	Clip   Rect // what can be seen of Rect lies in here
	Parent int  // index in Boxes, -1 at the root

	item     Item
	scroller int
}

// Kind is the item's type: "Button".
func (b Box) Kind() string { return strings.TrimPrefix(fmt.Sprintf("%T", b.item), "ui.") }

// Visible is the part of the box that can be seen and clicked.
func (b Box) Visible() Rect { return b.Rect.Meet(b.Clip) }

// scroller is a placed Scroll, or a list or table with more rows than room.
type scroller struct {
	id        string
	full      Rect    // where it lies
	window    Rect    // what can be seen of that
	contentPx float64 // height of all of it
	offsetPx  float64 // of which this much is scrolled away
	parent    int
}

// most is as far as it scrolls.
func (sc scroller) most() float64 { return max(0, sc.contentPx-sc.full.H) }

// place draws an item into r and remembers where it lies.
func (p *pass) place(it Item, r Rect) {
	b := Box{Rect: r, Clip: p.clip, Parent: p.parent, item: it, scroller: p.scroller}
	if c, ok := it.(control); ok && !r.Empty() {
		b.ID = c.id()
	}
	outer := p.parent
	p.parent = len(p.frame.Boxes)
	p.frame.Boxes = append(p.frame.Boxes, b)
	it.draw(p, r)
	p.parent = outer
	if b.ID != "" && b.ID == p.focus && (p.page.Dialogue == nil || p.frame.front > 0) {
		p.focusRing(r)
	}
}

// State is the state the frame shows: hand it to the next Layout.
func (f *Frame) State() State { return f.state }

// Focus is the ID of the item that has the keyboard, or empty.
func (f *Frame) Focus() string { return f.focus }

// Same reports whether g draws the same picture, so that a window need not.
func (f *Frame) Same(g *Frame) bool {
	return g != nil && f.view == g.view && slices.EqualFunc(f.Commands, g.Commands, Command.Equal)
}

// reachable are the boxes that keyboard and mouse can get at: those of the
// dialogue while there is one.
func (f *Frame) reachable() []Box {
	if f.page.Dialogue != nil {
		return f.Boxes[f.front:]
	}
	return f.Boxes[:f.front]
}

// At is the ID of the item under p, or empty.
func (f *Frame) At(p Point) string {
	if b, ok := f.boxAt(p); ok {
		return b.ID
	}
	return ""
}

func (f *Frame) boxAt(p Point) (Box, bool) {
	for _, b := range slices.Backward(f.reachable()) {
		if b.ID != "" && b.Visible().Has(p) {
			return b, true
		}
	}
	return Box{}, false
}

func (f *Frame) box(id string) (Box, bool) {
	if id != "" {
		for _, b := range f.reachable() {
			if b.ID == id {
				return b, true
			}
		}
	}
	return Box{}, false
}

// Order is the IDs that Tab goes through: reading order.
func (f *Frame) Order() []string {
	var ids []string
	for _, b := range f.reachable() {
		if b.ID != "" {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// Next is the ID after one in Order, step 1, or before it, step -1. It goes
// round, and starts at an end when the ID is not there.
func (f *Frame) Next(id string, step int) string {
	ids := f.Order()
	if len(ids) == 0 {
		return ""
	}
	i := slices.Index(ids, id)
	if i < 0 && step < 0 {
		i = 0
	}
	return ids[(i+step+len(ids))%len(ids)]
}

// hidden reports whether less than half of an item can be seen.
func (f *Frame) hidden(id string) bool {
	b, ok := f.box(id)
	return ok && b.Visible().H < b.Rect.H/2
}

// reveal scrolls just as far as shows the focused item and its ring.
func (f *Frame) reveal(s *State) {
	b, ok := f.box(f.effective(*s))
	if !ok {
		return
	}
	r := b.Rect.Inset(-focusGapPx - 3)
	for i := b.scroller; i >= 0; i = f.scrollers[i].parent {
		by := f.scrollers[i].reveal(s, r.Y, r.Bottom())
		r.Y -= by
	}
}

// reveal brings the stretch from y0 to y1, where it is now, into the window;
// of one that is taller, its start. It returns by how much it scrolled.
func (sc scroller) reveal(s *State, y0, y1 float64) float64 {
	by := 0.0
	if y1 > sc.full.Bottom() {
		by = y1 - sc.full.Bottom()
	}
	if y0-by < sc.full.Y {
		by = y0 - sc.full.Y
	}
	to := min(max(0, sc.offsetPx+by), sc.most())
	s.scrollTo(sc.id, to)
	return to - sc.offsetPx
}

// effective is where a state has the keyboard.
func (f *Frame) effective(s State) string {
	if f.page.Dialogue != nil {
		return cmpOr(s.Modal, f.page.Dialogue.first())
	}
	return s.Focus
}

// Outline lists the boxes and the scrolling, one a line, for golden tests.
func (f *Frame) Outline() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%gx%g text %g focus %q\n", f.view.WidthPx, f.view.HeightPx, f.view.TextScale, f.focus)
	depth := make([]int, len(f.Boxes))
	for i, box := range f.Boxes {
		if box.Parent >= 0 {
			depth[i] = depth[box.Parent] + 1
		}
		line := fmt.Sprintf("%s%s %s", strings.Repeat("  ", depth[i]), box.Kind(), box.ID)
		r := box.Rect
		fmt.Fprintf(&b, "%-40s %6.0f %6.0f %6.0f %6.0f\n", strings.TrimRight(line, " "), r.X, r.Y, r.W, r.H)
	}
	for _, s := range f.scrollers {
		fmt.Fprintf(&b, "scroll %s: %.0f of %.0f, window %.0f\n", s.id, s.offsetPx, s.contentPx, s.window.H)
	}
	return b.String()
}

// Progress is how far the curves of the page have gone, 0 to 1.
func (f *Frame) Progress() float64 { return f.page.Progress }

// View is what the frame was laid out for.
func (f *Frame) View() View { return f.view }
