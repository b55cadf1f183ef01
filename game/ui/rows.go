package ui

import "math"

// rows is what List and Table share: n rows of one height of which one may be
// chosen, scrolled where there is no room, and drawn only where they show.
type rows struct {
	id     string
	n      int
	chosen int // -1 for none
}

func (rs rows) rowHeight(p *pass) float64 { return p.line(Body) + padPx }

// draw places the rows into r and gives each that shows to cell.
func (rs rows) draw(p *pass, r Rect, cell func(i int, r Rect, ink style)) {
	h := rs.rowHeight(p)
	all := float64(rs.n) * h
	clip, outer := p.clip, p.scroller
	start := float64(rs.chosen)*h - (r.H-h)/2
	offset := p.scrolled(rs.id, r, all, start)
	p.clip = clip.Meet(r)
	if all > r.H {
		r.W -= barPx
	}
	first := int(offset / h)
	last := min(rs.n, int(math.Ceil((offset+r.H)/h)))
	for i := first; i < last; i++ {
		rs.row(p, i, Rect{r.X, r.Y + float64(i)*h - offset, r.W, h}, cell)
	}
	p.clip, p.scroller = clip, outer
}

// row marks the chosen one by a filled plate, a pointer and bold type.
func (rs rows) row(p *pass, i int, r Rect, cell func(int, Rect, style)) {
	inner := Rect{r.X + rs.indent(p), r.Y, r.W - rs.indent(p) - padPx, r.H}
	if i != rs.chosen || rs.id == "" {
		cell(i, inner, style{ink: Ink})
		return
	}
	p.fillPath(Brass, p.plate(r.Inset(1)))
	p.mark(Play, Point{r.X + padPx + 4, r.middle().Y}, 4, Sheet)
	cell(i, inner, style{ink: Sheet, bold: true})
}

// indent leaves room for the pointer where rows can be chosen.
func (rs rows) indent(*pass) float64 {
	if rs.id == "" {
		return padPx
	}
	return 24
}

// handle moves the choice; body is where the rows lie.
func (rs rows) handle(in *input, body Rect) (Action, bool) {
	h := rs.rowHeight(in.frame.measure())
	switch in.Kind {
	case Press:
		sc, ok := in.frame.scroller(rs.id)
		i := int(math.Floor((in.At.Y - body.Y + sc.offsetPx) / h))
		if !ok || !body.Has(in.At) || i >= rs.n {
			return Action{}, false
		}
		if i == rs.chosen {
			return Action{Kind: Submit, ID: rs.id, Index: i}, true
		}
		return rs.choose(in, i), true
	case KeyDown:
		return rs.key(in, max(1, int(body.H/h)-1))
	}
	return Action{}, false
}

func (rs rows) key(in *input, screenful int) (Action, bool) {
	if rs.n == 0 {
		return Action{}, false
	}
	switch in.Key {
	case KeyEnter:
		if rs.chosen < 0 {
			return Action{}, false
		}
		return Action{Kind: Submit, ID: rs.id, Index: rs.chosen}, true
	case KeyArrowUp:
		return rs.choose(in, rs.chosen-1), true
	case KeyArrowDown:
		return rs.choose(in, rs.chosen+1), true
	case KeyPageUp:
		return rs.choose(in, rs.chosen-screenful), true
	case KeyPageDown:
		return rs.choose(in, rs.chosen+screenful), true
	case KeyHome:
		return rs.choose(in, 0), true
	case KeyEnd:
		return rs.choose(in, rs.n-1), true
	}
	return Action{}, false
}

// choose moves the choice to i, kept within the rows, and shows it.
func (rs rows) choose(in *input, i int) Action {
	i = min(max(0, i), rs.n-1)
	if sc, ok := in.frame.scroller(rs.id); ok {
		h := rs.rowHeight(in.frame.measure())
		y := sc.full.Y + float64(i)*h - sc.offsetPx
		sc.reveal(in.state, y, y+h)
	}
	if i == rs.chosen {
		return Action{}
	}
	return Action{Kind: Changed, ID: rs.id, Index: i}
}
