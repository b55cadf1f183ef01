package ui

// List is rows of which one is chosen, such as the files of a folder. It asks
// for room for Show of them and scrolls through the rest.
type List struct {
	ID, Label string
	Rows      []ListRow
	Chosen    int    // -1 for none
	Show      int    // 0 is 6
	Empty     string // what to do when there are no rows
	Tip       string
}

// ListRow is a line of a List.
type ListRow struct {
	Text  string
	Aside string // at the right: a date, a length
}

func (l List) id() string  { return l.ID }
func (l List) tip() string { return l.Tip }
func (l List) rows() rows  { return rows{l.ID, len(l.Rows), l.Chosen} }

func (l List) width(p *pass) float64 { return 18 * p.em(Body) }

func (l List) height(p *pass, _ float64) float64 {
	show := l.Show
	if show == 0 {
		show = 6
	}
	return p.labelHeight(l.Label) + float64(show)*l.rows().rowHeight(p) + padPx
}

func (l List) body(p *pass, r Rect) Rect {
	_, body := r.top(p.labelHeight(l.Label))
	return body.Inset(padPx / 2)
}

func (l List) draw(p *pass, r Rect) {
	p.caption(l.Label, "", r)
	body := l.body(p, r)
	p.touch("", body.Inset(-padPx/2), false, false)
	if len(l.Rows) == 0 {
		p.paragraph(l.Empty, style{ink: SoftInk}, body.Inset(padPx))
		return
	}
	l.rows().draw(p, body, func(i int, r Rect, t style) { l.drawRow(p, l.Rows[i], r, t) })
}

func (l List) drawRow(p *pass, row ListRow, r Rect, t style) {
	aside := style{size: Small, ink: SoftInk}
	if t.ink == Sheet {
		aside.ink = Sheet
	}
	w := min(r.W/2, p.textWidth(row.Aside, aside))
	p.labelAt(row.Aside, aside, Rect{r.Right() - w, r.Y, w, r.H}, 1)
	p.label(row.Text, t, Rect{r.X, r.Y, r.W - w - padPx, r.H})
}

func (l List) handle(in *input) (Action, bool) {
	return l.rows().handle(in, l.body(in.frame.measure(), in.box.Rect))
}

func (l List) say(s *speech) {
	s.control(l.ID, cmpOr(l.Label, "list"))
	if len(l.Rows) == 0 {
		s.line("    " + l.Empty)
	}
	for i, row := range l.Rows {
		text := "    "
		if i == l.Chosen {
			text = "  * "
		}
		s.line(spread2(text+row.Text, row.Aside, s.widthN))
	}
}
