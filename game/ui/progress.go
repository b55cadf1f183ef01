package ui

import (
	"fmt"
	"math"
)

// Progress shows how far long work has come.
type Progress struct {
	Label string
	Part  float64 // 0 to 1; below 0 when nobody knows
	Text  string  // "12 of 40 files"
}

func (pr Progress) width(p *pass) float64 { return 16 * p.em(Body) }

func (pr Progress) height(p *pass, _ float64) float64 { return p.labelHeight("x") + 16 }

func (pr Progress) draw(p *pass, r Rect) {
	p.caption(cmpOr(pr.Label, " "), pr.Text, r)
	_, r = r.top(p.labelHeight("x"))
	p.frameLine(r, SoftInk)
	inner := r.Inset(3)
	if pr.Part < 0 {
		p.hatch(inner, SoftInk, 8)
		return
	}
	inner.W = math.Round(inner.W * min(1, pr.Part))
	p.fill(inner, Ink)
}

// hatch fills a rectangle with slanting lines, step px apart.
func (p *pass) hatch(r Rect, ink Token, step float64) {
	start := len(p.points)
	for x := r.X - r.H; x < r.Right(); x += step {
		x0, x1 := max(x, r.X), min(x+r.H, r.Right())
		if x0 < x1 {
			p.points = append(p.points, Point{x0, r.Bottom() - (x0 - x)}, Point{x1, r.Bottom() - (x1 - x)})
		}
	}
	p.strokes(ink, 1, p.points[start:len(p.points):len(p.points)])
}

func (pr Progress) say(s *speech) {
	text := pr.Text
	if text == "" && pr.Part >= 0 {
		text = fmt.Sprintf("%.0f %%", 100*pr.Part)
	}
	s.line(s.named(pr.Label, cmpOr(text, "working")))
}
