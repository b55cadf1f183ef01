package ui

// Button presses. The key it shows is found in the page's table by its ID.
type Button struct {
	ID, Label string
	Mark      Mark   // drawn before the label
	Primary   bool   // what most will press next: at most one on a page
	On        bool   // held in, such as a loop that is on
	Off       string // why it cannot be pressed now; empty when it can
	Tip       string
}

func (b Button) id() string {
	if b.Off != "" {
		return ""
	}
	return b.ID
}

func (b Button) tip() string { return b.Tip }

func (b Button) style() style {
	switch {
	case b.Off != "":
		return style{ink: SoftInk}
	case b.Primary || b.On:
		return style{ink: Sheet, bold: true}
	}
	return style{ink: Brass, bold: true}
}

// beside is what stands small beside the label: the reason, or the key.
func (b Button) beside(p *pass) string {
	if b.Off != "" {
		return b.Off
	}
	bound, ok := p.page.binding(b.ID)
	if !ok {
		return ""
	}
	return bound.Keys[0].Label()
}

func (b Button) markWidth(p *pass) float64 {
	if b.Mark == NoMark {
		return 0
	}
	return p.em(Body) + padPx
}

func (b Button) width(p *pass) float64 {
	w := b.markWidth(p) + p.textWidth(b.Label, b.style()) + 2*gapPx
	if s := b.beside(p); s != "" {
		w += p.textWidth(s, style{size: Small}) + padPx + 4
	}
	return w + 1
}

func (b Button) height(p *pass, _ float64) float64 { return p.line(Body) + 2*padPx }

func (b Button) draw(p *pass, r Rect) {
	t := b.style()
	p.touch(b.ID, r, b.Off != "", b.Primary || b.On)
	inner := Rect{r.X + gapPx, r.Y, r.W - 2*gapPx, r.H}
	var sign Rect
	if b.Mark != NoMark {
		sign, inner = inner.left(b.markWidth(p))
		p.mark(b.Mark, Point{sign.X + p.em(Body)/2, r.Y + r.H/2}, p.em(Body)*0.42, t.ink)
	}
	p.label(b.Label, t, inner)
	if s := b.beside(p); s != "" {
		small := style{size: Small, ink: t.ink}
		if t.ink == Brass {
			small.ink = SoftInk
		}
		p.labelAt(s, small, inner, 1)
	}
}

// touch draws a plate in the state it is in: at rest, under the pointer, held
// down, filled because it is on, dashed because it is off.
func (p *pass) touch(id string, r Rect, off, filled bool) {
	hovered := p.state.Hover == id && id != ""
	switch {
	case off:
		p.outline(r, SoftInk, 1, Dashed)
	case filled:
		p.fillPath(Brass, p.plate(r))
		if hovered {
			p.outline(r.Inset(3), Sheet, 1, Solid)
		}
	default:
		p.fillPath(Sheet, p.plate(r))
		width := 1.0
		if hovered {
			width = 2
		}
		p.outline(r, Brass, width, Solid)
	}
	if p.state.Held == id && id != "" && !off {
		p.outline(r.Inset(3), Ink, 1, Solid)
	}
}

func (b Button) handle(in *input) (Action, bool) {
	switch {
	case in.Kind == KeyDown && in.Key == KeyEnter, in.Kind == Typed && in.Text == " ",
		in.Kind == Release && in.box.Visible().Has(in.At):
		return Action{Kind: Pressed, ID: b.ID}, true
	}
	return Action{}, false
}

func (b Button) say(s *speech) {
	text := "[" + b.Label + "]"
	if b.Label == "" {
		text = "[" + b.Mark.String() + "]"
	}
	switch {
	case b.Off != "":
		text += " not now: " + b.Off
	case b.On:
		text += " is on"
	}
	s.control(b.ID, text)
}
