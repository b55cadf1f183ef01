package ui

import "math"

// Arc is a ruler bent round a listener: its scale runs from hard left over
// the middle to hard right. All that a Ruler says holds for it, but that it
// has neither bands nor curves.
type Arc struct{ Ruler }

var _ control = Arc{}

const (
	arcLeastPx = 120.0
	arcMostPx  = 260.0
)

func (a Arc) width(p *pass) float64 { return 24 * p.em(Body) }

func (a Arc) height(p *pass, w float64) float64 {
	h := p.labelHeight(a.Label) + a.flagLines()*p.line(Small) + arcLeastPx*p.view.TextScale + p.line(Small) + 2*padPx
	if a.Problem != "" {
		h += padPx + Note{Text: a.Problem, Problem: true}.height(p, w)
	}
	return h
}

// arcParts is where the parts of an arc lie.
type arcParts struct {
	flags  Rect
	centre Point // where the listener sits
	radius float64
	below  Rect // what is wrong
}

func (a Arc) parts(p *pass, r Rect) arcParts {
	var parts arcParts
	_, r = r.top(p.labelHeight(a.Label))
	parts.flags, r = r.top(a.flagLines() * p.line(Small))
	if a.Problem != "" {
		h := padPx + Note{Text: a.Problem, Problem: true}.height(p, r.W)
		parts.below = Rect{r.X, r.Bottom() - h + padPx, r.W, h - padPx}
		r.H -= h
	}
	parts.radius = max(24, min(r.H-p.line(Small)-3*padPx, r.W/2-2*p.em(Body), arcMostPx*p.view.TextScale))
	parts.centre = Point{r.X + r.W/2, r.Y + p.line(Small) + padPx + parts.radius}
	return parts
}

// on is the point of the arc at a place, 0 left and 1 right, so many px out.
func (parts arcParts) on(place, radius float64) Point {
	sin, cos := math.Sincos(math.Pi * (1 - place))
	return Point{parts.centre.X + radius*cos, parts.centre.Y - radius*sin}
}

// placeAt is the place on the arc that a point lies in the direction of.
func (parts arcParts) placeAt(q Point) float64 {
	angle := math.Atan2(parts.centre.Y-q.Y, q.X-parts.centre.X)
	if angle < -math.Pi/2 { // below and left
		return 0
	}
	return min(max(0, 1-angle/math.Pi), 1)
}

func (a Arc) draw(p *pass, r Rect) {
	parts := a.parts(p, r)
	value := ""
	if a.Entry != "" {
		value = "typed: " + a.Entry
	}
	p.caption(cmpOr(a.Label, " "), value, r)
	a.drawRule(p, parts)
	for _, m := range a.byPlace() {
		a.drawHand(p, m, parts)
	}
	if a.Set && !a.Off {
		a.drawHand(p, RulerMark{Label: a.ValueText, Value: a.Value, Ink: Brass, Mark: Diamond}, parts)
	}
	a.drawFlags(p, parts)
	if a.Problem != "" {
		p.place(Note{Text: a.Problem, Problem: true}, parts.below)
	}
}

const arcSteps = 64

// drawRule is the half circle with its ticks, and the listener at its centre.
func (a Arc) drawRule(p *pass, parts arcParts) {
	start := len(p.points)
	for i := range arcSteps + 1 {
		p.points = append(p.points, parts.on(float64(i)/arcSteps, parts.radius))
	}
	p.stroke(Ink, 2, Solid, p.points[start:len(p.points):len(p.points)])
	for _, t := range a.Scale.Ticks {
		length, place := 6.0, a.Scale.Place(t.Value)
		if t.Label != "" {
			length = 12
			at := parts.on(place, parts.radius+padPx+p.line(Small)/2)
			w := p.textWidth(t.Label, labelStyle)
			p.write(t.Label, labelStyle, math.Round(at.X-w*(1-place)), at.Y)
		}
		p.stroke(Ink, 1, Solid, p.path(parts.on(place, parts.radius-length), parts.on(place, parts.radius)))
	}
	p.mark(Dot, parts.centre, 5, SoftInk)
}

// drawHand points from the listener to a value.
func (a Arc) drawHand(p *pass, m RulerMark, parts arcParts) {
	place := a.Scale.Place(m.Value)
	p.stroke(m.Ink, 2, m.Dash, p.path(parts.on(place, 12), parts.on(place, parts.radius)))
	p.mark(m.Mark, parts.on(place, parts.radius), 7, m.Ink)
}

// drawFlags names the hands, a line each.
func (a Arc) drawFlags(p *pass, parts arcParts) {
	marks := a.byPlace()
	if a.Set && !a.Off {
		marks = append(marks, RulerMark{Label: a.ValueText, Ink: Brass, Mark: Diamond})
	}
	line := p.line(Small)
	for i, m := range marks {
		y := parts.flags.Y + (float64(i)+0.5)*line
		p.mark(m.Mark, Point{parts.flags.X + 8, y}, 5, m.Ink)
		p.write(m.Label, style{size: Small, ink: Ink, bold: true}, parts.flags.X+20, y)
	}
}

func (a Arc) handle(in *input) (Action, bool) {
	if in.Kind != Press && in.Kind != Move {
		return a.Ruler.handle(in)
	}
	v := a.Scale.Snap(a.Scale.At(a.parts(in.frame.measure(), in.box.Rect).placeAt(in.At)))
	if a.Set && v == a.Value && a.Entry == "" {
		return Action{}, true
	}
	return a.answer(Changed, v), true
}
