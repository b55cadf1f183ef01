package ui

import "math"

// Curve is a polyline over a Ruler's scale.
type Curve struct {
	Label  string
	Points []Point // X on the ruler's scale, Y on its Y scale
	From   []Point // where it comes from while Page.Progress is below 1; nil: it stands still
	Ink    Token
	Dash   Dash
	Mark   Mark // drawn beside the label
}

// Between is a curve on its way: from at progress 0, to at 1, starting and
// arriving gently (raised cosine). Curves of unlike length do not move.
func Between(from, to []Point, progress float64) []Point {
	if len(from) != len(to) || progress >= 1 {
		return to
	}
	part := 0.5 - 0.5*math.Cos(math.Pi*max(0, progress))
	path := make([]Point, len(to))
	for i, q := range to {
		path[i] = Point{from[i].X + part*(q.X-from[i].X), from[i].Y + part*(q.Y-from[i].Y)}
	}
	return path
}

func (c Curve) shown(p *pass) []Point {
	if p.view.Still || c.From == nil {
		return c.Points
	}
	return Between(c.From, c.Points, p.page.Progress)
}

// polyline draws points of two scales into a plot, y upwards, cut at its edges.
func (p *pass) polyline(points []Point, x, y Scale, plot Rect, ink Token, width float64, dash Dash) {
	start := len(p.points)
	for _, q := range points {
		p.points = append(p.points, onPlot(q, x, y, plot))
	}
	clip := p.clip
	p.clip = clip.Meet(plot.Inset(-1))
	p.stroke(ink, width, dash, p.points[start:len(p.points):len(p.points)])
	p.clip = clip
}

func onPlot(q Point, x, y Scale, plot Rect) Point {
	return Point{x.x(q.X, plot), plot.Bottom() - y.drawn(q.Y)*plot.H}
}

// ground rules a plot: thin lines at the ticks of both scales.
func (p *pass) ground(x, y Scale, plot Rect) {
	p.fill(plot, Sheet)
	start := len(p.points)
	for _, t := range x.Ticks {
		if px := hair(x.x(t.Value, plot)); t.Label != "" && px < plot.Right() {
			p.points = append(p.points, Point{px, plot.Y}, Point{px, plot.Bottom()})
		}
	}
	for _, t := range y.Ticks {
		py := hair(onPlot(Point{x.Min, t.Value}, x, y, plot).Y)
		p.points = append(p.points, Point{plot.X, py}, Point{plot.Right(), py})
	}
	p.strokes(Rule, 1, p.points[start:len(p.points):len(p.points)])
}

// sideTicks writes the labels of a Y scale beside the plot, ending at x.
func (p *pass) sideTicks(y Scale, plot Rect, x float64) {
	width := p.sideWidth(y)
	h := p.line(Small)
	free := math.Inf(1)
	for _, t := range y.Ticks {
		py := plot.Bottom() - y.drawn(t.Value)*plot.H
		if t.Label == "" || py+h/2 > free {
			continue
		}
		p.labelAt(t.Label, labelStyle, Rect{x - width, py - h/2, width, h}, 1)
		free = py - h/2
	}
}

// sideWidth is the room that the labels of a Y scale take.
func (p *pass) sideWidth(y Scale) float64 {
	w := 0.0
	for _, t := range y.Ticks {
		w = max(w, p.textWidth(t.Label, labelStyle))
	}
	return w
}

// legend is what a curve looks like and what it is called.
type legend struct {
	label string
	ink   Token
	dash  Dash
	mark  Mark
	loose bool // no line joins its points
}

// keyed is what has a legend.
type keyed interface{ key() legend }

// legends gives each legend its place within a width, in as many lines as they
// take.
func legends[K keyed](p *pass, w float64, all []K, do func(l legend, x, y float64)) (height float64) {
	x, y := 0.0, 0.0
	for _, k := range all {
		l := k.key()
		own := 41 + p.textWidth(l.label, style{size: Small})
		if x > 0 && x+own > w {
			x, y = 0, y+p.line(Small)
		}
		do(l, x, y)
		x += own + gapPx
	}
	return y + p.line(Small)
}

func legendHeight[K keyed](p *pass, w float64, all []K) float64 {
	return legends(p, w, all, func(legend, float64, float64) {}) + 4
}

// drawLegends draws them from the top left of r.
func drawLegends[K keyed](p *pass, r Rect, all []K) {
	legends(p, r.W, all, func(l legend, x, y float64) {
		l.draw(p, Rect{r.X + x, r.Y + y, r.W - x, p.line(Small)})
	})
}

func (l legend) draw(p *pass, r Rect) {
	y := r.middle().Y
	p.fill(Rect{r.X - 2, r.Y + 1, 36, r.H - 2}, Sheet)
	if !l.loose {
		p.stroke(l.ink, 2, l.dash, p.path(Point{r.X, y}, Point{r.X + 32, y}))
	}
	if l.mark != NoMark {
		p.mark(l.mark, Point{r.X + 16, y}, 5, l.ink)
	}
	p.label(l.label, style{size: Small, ink: Ink}, Rect{r.X + 40, r.Y, r.W - 40, r.H})
}

func (c Curve) key() legend { return legend{label: c.Label, ink: c.Ink, dash: c.Dash, mark: c.Mark} }
