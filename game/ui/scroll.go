package ui

import "slices"

// Scroll shows as much of an item as there is room for. Its ID names its
// place in State.Scroll. It can have the keyboard, so that a text in it can be
// read without a mouse.
type Scroll struct {
	ID       string
	Item     Item
	HeightPx float64 // what it asks for at text scale 1; 0 asks for all

	overhang bool // of a page or dialogue: focus rings may be drawn beside it, and it has none itself
}

func (sc Scroll) width(p *pass) float64 { return sc.Item.width(p) + barPx }

func (sc Scroll) height(p *pass, w float64) float64 {
	all := sc.Item.height(p, w)
	if sc.HeightPx > 0 {
		return min(all, sc.HeightPx*p.view.TextScale)
	}
	return all
}

func (sc Scroll) draw(p *pass, r Rect) {
	content := r
	content.H = sc.Item.height(p, r.W)
	if content.H > r.H {
		content.W -= barPx
		content.H = sc.Item.height(p, content.W)
	}
	content.H = max(content.H, r.H)
	clip, outer := p.clip, p.scroller
	window := r
	if sc.overhang {
		window = r.Inset(-padPx)
		window.Y, window.H = r.Y, r.H
	}
	content.Y -= p.scrolled(sc.ID, r, content.H, 0)
	p.clip = clip.Meet(window)
	p.place(sc.Item, content)
	p.clip, p.scroller = clip, outer
}

// scrolled registers a scroller with its bar, makes it the innermost, and
// returns how much of its content is scrolled away. It starts at start.
func (p *pass) scrolled(id string, window Rect, contentPx, start float64) float64 {
	sc := scroller{id: id, window: window.Meet(p.clip), contentPx: contentPx, parent: p.scroller}
	sc.window.H = max(sc.window.H, 0)
	offset, ok := p.state.Scroll[id]
	if !ok {
		offset = start
	}
	sc.full = window
	sc.offsetPx = min(max(0, offset), sc.most())
	p.scroller = len(p.frame.scrollers)
	p.frame.scrollers = append(p.frame.scrollers, sc)
	if sc.most() > 0 {
		p.fillPath(SoftInk, p.plate(sc.thumb()))
	}
	return sc.offsetPx
}

// bar is the strip at the right that the thumb moves in.
func (sc scroller) bar() Rect {
	return Rect{sc.full.Right() - barPx, sc.full.Y, barPx, sc.full.H}
}

func (sc scroller) thumb() Rect {
	b := sc.bar()
	h := max(24, b.H*b.H/sc.contentPx)
	return Rect{b.X + barPx - 8, b.Y + (b.H-h)*sc.offsetPx/sc.most(), 8, h}
}

// dragged is the offset that brings the middle of the thumb to y.
func (sc scroller) dragged(y float64) float64 {
	b, h := sc.bar(), sc.thumb().H
	part := (y - b.Y - h/2) / max(1, b.H-h)
	return min(max(0, part), 1) * sc.most()
}

func (sc Scroll) tip() string { return "" }

func (sc Scroll) id() string {
	if sc.overhang {
		return ""
	}
	return sc.ID
}

func (sc Scroll) handle(in *input) (Action, bool) {
	i := slices.IndexFunc(in.frame.scrollers, func(s scroller) bool { return s.id == sc.ID })
	return Action{}, in.Kind == KeyDown && in.frame.scrollStep(in.state, i, in.Key)
}

func (sc Scroll) say(s *speech) { sc.Item.say(s) }
