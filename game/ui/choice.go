package ui

import (
	"math"
	"strings"
)

// Choice is a few options of which one holds, all in sight.
type Choice struct {
	ID, Label string
	Options   []Option
	Chosen    int // -1 for none yet
	Tip       string
}

// Option is one of a Choice. A key bound to its ID chooses it.
type Option struct{ ID, Label string }

func (c Choice) id() string  { return c.ID }
func (c Choice) tip() string { return c.Tip }

func (c Choice) option(id string) int {
	for i, o := range c.Options {
		if o.ID == id && id != "" {
			return i
		}
	}
	return -1
}

func (c Choice) changed(i int) Action {
	return Action{Kind: Changed, ID: c.ID, Index: i, Text: c.Options[i].ID}
}

// cell is the width of an option: its mark, label and key.
func (c Choice) cell(p *pass, i int) float64 {
	w := p.textWidth(c.Options[i].Label, style{bold: true}) + 2*gapPx
	if b, ok := p.page.binding(c.Options[i].ID); ok {
		w += p.textWidth(b.Keys[0].Label(), style{size: Small}) + padPx
	}
	return math.Ceil(w + p.em(Small))
}

func (c Choice) width(p *pass) float64 {
	w := 0.0
	for i := range c.Options {
		w += c.cell(p, i)
	}
	return max(w, p.textWidth(c.Label, labelStyle)) + 1
}

func (c Choice) height(p *pass, w float64) float64 {
	bottom := 0.0
	c.cells(p, Rect{W: w}, func(_ int, r Rect) { bottom = r.Bottom() })
	return bottom
}

// cells gives every option its place, in as many lines as it takes.
func (c Choice) cells(p *pass, r Rect, do func(i int, r Rect)) {
	x, y, h := r.X, r.Y+p.labelHeight(c.Label), p.line(Body)+2*padPx
	for i := range c.Options {
		w := min(c.cell(p, i), r.W)
		if x > r.X && x+w > r.Right()+0.5 {
			x, y = r.X, y+h+padPx
		}
		do(i, Rect{x, y, w, h})
		x += w
	}
}

func (c Choice) draw(p *pass, r Rect) {
	p.caption(c.Label, "", r)
	c.cells(p, r, func(i int, cell Rect) { c.drawCell(p, i, cell) })
}

func (c Choice) drawCell(p *pass, i int, r Rect) {
	chosen := i == c.Chosen
	t := style{ink: Brass, bold: true}
	p.fillPath(Sheet, p.plate(r))
	p.outline(r, Brass, 1, Solid)
	dot := Point{r.X + 12 + p.em(Small)*0.3, r.middle().Y}
	if chosen {
		t.ink = Sheet
		p.fillPath(Brass, p.plate(r))
		p.mark(Dot, dot, p.em(Small)*0.3, Sheet)
	} else {
		p.mark(Ring, dot, p.em(Small)*0.3, Brass)
	}
	inner := Rect{dot.X + p.em(Small)*0.3 + padPx, r.Y, 0, r.H}
	inner.W = r.Right() - 12 - inner.X
	p.label(c.Options[i].Label, t, inner)
	if b, ok := p.page.binding(c.Options[i].ID); ok {
		small := style{size: Small, ink: SoftInk}
		if chosen {
			small.ink = Sheet
		}
		p.labelAt(b.Keys[0].Label(), small, inner, 1)
	}
}

func (c Choice) handle(in *input) (Action, bool) {
	to := -1
	switch {
	case in.Kind == Press:
		c.cells(in.frame.measure(), in.box.Rect, func(i int, r Rect) {
			if r.Has(in.At) {
				to = i
			}
		})
	case in.Kind == KeyDown:
		step, ok := map[Key]int{KeyArrowLeft: -1, KeyArrowUp: -1, KeyArrowRight: 1, KeyArrowDown: 1}[in.Key]
		if !ok {
			return Action{}, false
		}
		to = min(max(0, c.Chosen+step), len(c.Options)-1)
	}
	if to < 0 {
		return Action{}, false
	}
	if to == c.Chosen {
		return Action{}, true
	}
	return c.changed(to), true
}

func (c Choice) say(s *speech) {
	parts := make([]string, len(c.Options))
	for i, o := range c.Options {
		parts[i] = o.Label
		if i == c.Chosen {
			parts[i] = "(" + o.Label + ")"
		}
		if b, ok := s.page.binding(o.ID); ok {
			parts[i] += " " + b.Keys[0].Label()
		}
	}
	s.control(c.ID, s.named(c.Label, strings.Join(parts, " | ")))
}
