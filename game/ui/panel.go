package ui

// Panel puts an item on a sheet of its own, under a title.
type Panel struct {
	Title string
	Item  Item
}

var headStyle = style{size: Head, ink: Ink, bold: true}

func (pa Panel) width(p *pass) float64 {
	return max(pa.Item.width(p), p.textWidth(pa.Title, headStyle)) + 2*gapPx
}

func (pa Panel) height(p *pass, w float64) float64 {
	return pa.titleHeight(p, w) + pa.Item.height(p, max(0, w-2*gapPx)) + 2*gapPx
}

func (pa Panel) titleHeight(p *pass, w float64) float64 {
	if pa.Title == "" {
		return 0
	}
	return p.paragraphHeight(pa.Title, headStyle, w-2*gapPx) + padPx
}

func (pa Panel) draw(p *pass, r Rect) {
	p.sheet(r)
	inner := r.Inset(gapPx)
	if pa.Title != "" {
		p.paragraph(pa.Title, headStyle, inner)
	}
	_, inner = inner.top(pa.titleHeight(p, r.W))
	p.place(pa.Item, inner)
}

// sheet is a piece of paper with a ruled edge.
func (p *pass) sheet(r Rect) {
	p.fill(r, Sheet)
	p.frameLine(r, Rule)
}

func (pa Panel) say(s *speech) {
	s.blank()
	if pa.Title != "" {
		s.line(pa.Title)
	}
	pa.Item.say(s)
}
