package ui

import "math"

// add appends a command unless all it draws is clipped away.
func (p *pass) add(c Command, reach Rect) {
	if reach.Meet(p.clip).Empty() {
		return
	}
	c.Clip = p.clip
	p.frame.Commands = append(p.frame.Commands, c)
}

// path keeps points in one growing array, so that a frame costs few allocations.
func (p *pass) path(points ...Point) []Point {
	start := len(p.points)
	p.points = append(p.points, points...)
	return p.points[start:len(p.points):len(p.points)]
}

func (p *pass) fill(r Rect, ink Token) {
	if r.Empty() {
		return
	}
	path := p.path(Point{r.X, r.Y}, Point{r.Right(), r.Y}, Point{r.Right(), r.Bottom()}, Point{r.X, r.Bottom()})
	p.add(Command{Op: Fill, Ink: ink, Path: path}, r)
}

// fillPath fills any closed outline.
func (p *pass) fillPath(ink Token, path []Point) {
	p.add(Command{Op: Fill, Ink: ink, Path: path}, bounds(path))
}

func (p *pass) stroke(ink Token, width float64, dash Dash, path []Point) {
	p.add(Command{Op: Stroke, Ink: ink, Path: path, Width: width, Dash: dash}, bounds(path).Inset(-width))
}

// strokes draws a separate line between each two points.
func (p *pass) strokes(ink Token, width float64, path []Point) {
	if len(path) > 0 {
		p.add(Command{Op: Lines, Ink: ink, Path: path, Width: width}, bounds(path).Inset(-width))
	}
}

// across and down draw a sharp line one pixel wide.
func (p *pass) across(x0, x1, y float64, ink Token) {
	p.stroke(ink, 1, Solid, p.path(Point{x0, hair(y)}, Point{x1, hair(y)}))
}

func (p *pass) down(x, y0, y1 float64, ink Token) {
	p.stroke(ink, 1, Solid, p.path(Point{hair(x), y0}, Point{hair(x), y1}))
}

// chamferPx is what a plate loses at its corners.
const chamferPx = 4

// plate is the outline of everything that can be touched: a rectangle with
// its corners cut, like the plate a label is screwed on with.
func (p *pass) plate(r Rect) []Point {
	c := min(chamferPx, r.W/2, r.H/2)
	return p.path(
		Point{r.X + c, r.Y}, Point{r.Right() - c, r.Y}, Point{r.Right(), r.Y + c}, Point{r.Right(), r.Bottom() - c},
		Point{r.Right() - c, r.Bottom()}, Point{r.X + c, r.Bottom()}, Point{r.X, r.Bottom() - c}, Point{r.X, r.Y + c})
}

// outline draws the edge of a plate inside r.
func (p *pass) outline(r Rect, ink Token, width float64, dash Dash) {
	path := p.plate(r.Inset(width / 2))
	p.stroke(ink, width, dash, p.path(append(path, path[0])...))
}

// frameLine draws a rectangle's edge, one pixel wide, inside r.
func (p *pass) frameLine(r Rect, ink Token) {
	r = r.Inset(0.5)
	p.stroke(ink, 1, Solid, p.path(Point{r.X, r.Y}, Point{r.Right(), r.Y}, Point{r.Right(), r.Bottom()},
		Point{r.X, r.Bottom()}, Point{r.X, r.Y - 0.5}))
}

// focusGapPx lies between an item and the ring around it.
const focusGapPx = 4

// focusRing shows where the keyboard is: two strokes of the accent, one heavy
// and one thin, outside the item.
func (p *pass) focusRing(r Rect) {
	p.outline(r.Inset(-focusGapPx-2), Oxblood, 2, Solid)
}

// mark draws m around c, about 2*radius large.
func (p *pass) mark(m Mark, c Point, radius float64, ink Token) {
	for _, outline := range outlines[m] {
		start := len(p.points)
		for _, q := range outline {
			p.points = append(p.points, Point{c.X + radius*q.X, c.Y + radius*q.Y})
		}
		p.fillPath(ink, p.points[start:len(p.points):len(p.points)])
	}
}

// label writes one line of text, vertically centred in r.
func (p *pass) label(text string, t style, r Rect) {
	p.labelAt(text, t, r, 0)
}

// labelAt places it: 0 at the left of r, 0.5 in the middle, 1 at the right.
func (p *pass) labelAt(text string, t style, r Rect, align float64) {
	text = p.fit(text, t, r.W+0.5)
	if text == "" {
		return
	}
	x := r.X
	if align > 0 {
		x = math.Round(r.X + align*(r.W-p.textWidth(text, t)))
	}
	p.write(text, t, x, r.Y+r.H/2)
}

// capHeight is the height of capitals in em, near enough for any sans serif.
const capHeight = 0.72

// write draws text from x, capitals centred on y.
func (p *pass) write(text string, t style, x, y float64) {
	em := p.em(t.size)
	base := Point{x, math.Round(y + em*capHeight/2)}
	reach := Rect{x, base.Y - em, p.textWidth(text, t), em * 1.4}
	p.add(Command{Op: Label, Ink: t.ink, Path: p.path(base), Text: text, SizePx: em, Bold: t.bold}, reach)
}

// paragraph writes wrapped lines from the top of r.
func (p *pass) paragraph(text string, t style, r Rect) {
	line := p.line(t.size)
	for i, s := range p.wrap(text, t, r.W) {
		p.label(s, t, Rect{r.X, r.Y + float64(i)*line, r.W, line})
	}
}

func (p *pass) paragraphHeight(text string, t style, width float64) float64 {
	return float64(len(p.wrap(text, t, width))) * p.line(t.size)
}
