package ui

import (
	"fmt"
	"math"
)

// Chart draws points over two axes, each with the interval it may lie in.
type Chart struct {
	Label  string
	X, Y   Axis
	Series []Series
}

// Axis is a scale and what it measures, with the unit.
type Axis struct {
	Label string
	Scale
}

// Series is points that belong together, joined by a line unless they are
// loose.
type Series struct {
	Label  string
	Points []ChartPoint
	Ink    Token
	Mark   Mark
	Dash   Dash
	Loose  bool
}

// ChartPoint is a value with its interval; Lo = Hi draws none.
type ChartPoint struct {
	X, Y, Lo, Hi float64
	Text         string // as read in plain text: "Monday 4.5 dB (3 to 6)"
}

func (c Chart) width(p *pass) float64 { return 24 * p.em(Body) }

func (c Chart) height(p *pass, w float64) float64 { return c.around(p, w) + 144*p.view.TextScale }

// around is the height of all but the plot.
func (c Chart) around(p *pass, w float64) float64 {
	return p.labelHeight(c.Label) + c.legendHeight(p, w) + p.line(Small) + 2*p.line(Small) + padPx
}

func (c Chart) legendHeight(p *pass, w float64) float64 { return legendHeight(p, w, c.Series) }

func (s Series) key() legend { return legend{s.Label, s.Ink, s.Dash, s.Mark, s.Loose} }

// plot is the room for the points.
func (c Chart) plot(p *pass, r Rect) Rect {
	side := p.sideWidth(c.Y.Scale) + padPx
	y := r.Y + p.labelHeight(c.Label) + c.legendHeight(p, r.W) + p.line(Small)
	return Rect{math.Round(r.X + side), y, math.Floor(r.W - side - padPx), math.Floor(r.H - c.around(p, r.W))}
}

func (c Chart) draw(p *pass, r Rect) {
	p.caption(c.Label, "", r)
	drawLegends(p, Rect{r.X, r.Y + p.labelHeight(c.Label), r.W, 0}, c.Series)
	plot := c.plot(p, r)
	p.label(c.Y.Label, labelStyle, Rect{plot.X, plot.Y - p.line(Small) - 2, plot.W, p.line(Small)})
	p.ground(c.X.Scale, c.Y.Scale, plot)
	p.sideTicks(c.Y.Scale, plot, plot.X-padPx)
	p.ticks(c.X.Scale, plot, plot.Bottom(), 6, 3, Ink)
	p.across(plot.X, plot.Right(), plot.Bottom(), Ink)
	p.down(plot.X, plot.Y, plot.Bottom(), Ink)
	p.tickLabels(c.X.Scale, plot, plot.Bottom()+padPx+p.line(Small)/2, labelStyle)
	p.labelAt(c.X.Label, labelStyle, Rect{r.X, plot.Bottom() + padPx + p.line(Small), r.W - padPx, p.line(Small)}, 1)
	for _, s := range c.Series {
		c.drawSeries(p, s, plot)
	}
}

func (c Chart) drawSeries(p *pass, s Series, plot Rect) {
	bars, line := make([]Point, 0, 6*len(s.Points)), make([]Point, len(s.Points))
	for i, q := range s.Points {
		line[i] = Point{q.X, q.Y}
		if q.Lo < q.Hi {
			lo, hi := onPlot(Point{q.X, q.Lo}, c.X.Scale, c.Y.Scale, plot), onPlot(Point{q.X, q.Hi}, c.X.Scale, c.Y.Scale, plot)
			x := hair(lo.X)
			bars = append(bars, Point{x, lo.Y}, Point{x, hi.Y},
				Point{x - 4, hair(lo.Y)}, Point{x + 4, hair(lo.Y)}, Point{x - 4, hair(hi.Y)}, Point{x + 4, hair(hi.Y)})
		}
	}
	clip := p.clip
	p.clip = clip.Meet(plot.Inset(-6))
	p.strokes(s.Ink, 1, p.path(bars...))
	if !s.Loose {
		p.polyline(line, c.X.Scale, c.Y.Scale, plot, s.Ink, 1.5, s.Dash)
	}
	for _, q := range line {
		p.mark(s.Mark, onPlot(q, c.X.Scale, c.Y.Scale, plot), 5, s.Ink)
	}
	p.clip = clip
}

func (c Chart) say(s *speech) {
	s.line(s.named(cmpOr(c.Label, "chart"), c.Y.Label+" over "+c.X.Label))
	for _, series := range c.Series {
		s.line(fmt.Sprintf("    %s (%s, %s)", series.Label, series.Mark, series.Dash))
		for _, q := range series.Points {
			s.line("      " + q.say())
		}
	}
}

func (q ChartPoint) say() string {
	switch {
	case q.Text != "":
		return q.Text
	case q.Lo < q.Hi:
		return fmt.Sprintf("%.4g: %.3g, %.3g to %.3g", q.X, q.Y, q.Lo, q.Hi)
	}
	return fmt.Sprintf("%.4g: %.3g", q.X, q.Y)
}
