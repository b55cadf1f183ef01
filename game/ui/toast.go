package ui

import "math"

// Toast is one sentence about what just happened.
type Toast struct {
	Text string
	Mark Mark // NoMark is Done
}

// drawToast lays it over the lower right of the body.
func (p *pass) drawToast(body Rect) {
	t := p.page.Toast
	if t.Text == "" {
		return
	}
	if t.Mark == NoMark {
		t.Mark = Done
	}
	sign := p.em(Body) + padPx
	room := min(body.W-2*marginPx, proseWidth*p.em(Body)) - 2*gapPx - sign
	w := math.Ceil(min(room, p.textWidth(t.Text, style{})+1))
	h := p.paragraphHeight(t.Text, style{}, w)
	r := Rect{centred(body).Right() - w - 2*gapPx - sign, body.Bottom() - gapPx - h - 2*padPx, w + 2*gapPx + sign, h + 2*padPx}
	r.X = math.Round(r.X)
	p.fill(r, Sheet)
	p.outline(r, Ink, 1, Solid)
	p.mark(t.Mark, Point{r.X + gapPx + p.em(Body)/2, r.Y + padPx + p.line(Body)/2}, p.em(Body)*0.42, Ink)
	p.paragraph(t.Text, style{}, Rect{r.X + gapPx + sign, r.Y + padPx, w, h})
}

// drawTip lays the tooltip under its item, or over it where there is no room.
func (p *pass) drawTip(all Rect) {
	b, ok := p.frame.box(p.state.Tip)
	if !ok || tipOf(b.item) == "" {
		return
	}
	t := style{size: Small}
	text := tipOf(b.item)
	w := math.Ceil(min(p.textWidth(text, t)+1, 28*p.em(Small), all.W-2*gapPx-2*padPx))
	h := p.paragraphHeight(text, t, w)
	r := Rect{b.Rect.X, b.Rect.Bottom() + padPx, w + 2*padPx, h + padPx}
	if r.Bottom() > all.Bottom()-padPx {
		r.Y = max(padPx, b.Rect.Y-padPx-r.H)
	}
	r.X = max(padPx, min(r.X, all.Right()-padPx-r.W))
	p.fill(r, Sheet)
	p.outline(r, Ink, 1, Solid)
	p.paragraph(text, t, Rect{r.X + padPx, r.Y + padPx/2, w, h})
}
