package ui

// Text is read, and broken into lines where it must be.
type Text struct {
	Text string
	Size Size
	Ink  Token
	Bold bool
}

// proseWidth is a comfortable line of text, in em.
const proseWidth = 34

func (t Text) style() style { return style{t.Size, t.Ink, t.Bold} }

func (t Text) width(p *pass) float64 {
	return min(proseWidth*p.em(t.Size), p.textWidth(t.Text, t.style())+1)
}

func (t Text) height(p *pass, w float64) float64 {
	return p.paragraphHeight(t.Text, t.style(), min(w, proseWidth*p.em(t.Size)))
}

func (t Text) draw(p *pass, r Rect) {
	r.W = min(r.W, proseWidth*p.em(t.Size))
	p.paragraph(t.Text, t.style(), r)
}

func (t Text) say(s *speech) { s.line(t.Text) }

// Note is a sentence about what lies beside it: advice, or a problem and what
// to do about it.
type Note struct {
	Text    string
	Problem bool
}

func (n Note) style() style {
	if n.Problem {
		return style{ink: Oxblood}
	}
	return style{ink: SoftInk}
}

func (n Note) indent(p *pass) float64 { return p.em(Body) + padPx }

func (n Note) width(p *pass) float64 {
	return min(proseWidth*p.em(Body), p.textWidth(n.Text, n.style())+n.indent(p)+1)
}

func (n Note) height(p *pass, w float64) float64 {
	return p.paragraphHeight(n.Text, n.style(), w-n.indent(p))
}

func (n Note) draw(p *pass, r Rect) {
	gutter, text := r.left(n.indent(p))
	p.paragraph(n.Text, n.style(), text)
	if n.Problem {
		first, _ := gutter.top(p.line(Body))
		p.mark(Warning, Point{first.X + p.em(Body)/2, first.middle().Y}, p.em(Body)*0.45, Oxblood)
		return
	}
	p.stroke(SoftInk, 2, Solid, p.path(Point{r.X + 5, r.Y + 3}, Point{r.X + 5, r.Bottom() - 3}))
}

func (n Note) say(s *speech) {
	if n.Problem {
		s.line("! " + n.Text)
		return
	}
	s.line(n.Text)
}
