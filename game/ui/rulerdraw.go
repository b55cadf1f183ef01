package ui

import "math"

// rulerParts is where the parts of a ruler lie.
type rulerParts struct {
	flags  Rect // names of cursor and marks, a line each
	plot   Rect // curves, stretches and bands
	track  Rect // the rule's edge: its ends are the ends of the scale
	strip  Rect // the rule itself
	legend Rect // names of the curves
}

// stripHeight is the wood of the rule: the ticks and the numbers under them.
func (ru Ruler) stripHeight(p *pass) float64 { return 22 + p.line(Small) }

func (ru Ruler) flagLines() float64 {
	n := len(ru.Marks)
	if !ru.Off {
		n++
	}
	return float64(n)
}

func (ru Ruler) legendHeight(p *pass, w float64) float64 {
	if len(ru.Curves) == 0 {
		return 0
	}
	return legendHeight(p, w, ru.Curves)
}

func (ru Ruler) width(p *pass) float64 { return 30 * p.em(Body) }

func (ru Ruler) height(p *pass, w float64) float64 {
	plot := 56.0
	if len(ru.Curves) > 0 {
		plot = 112
	}
	return ru.around(p, w) + plot*p.view.TextScale
}

// around is the height of all but the plot.
func (ru Ruler) around(p *pass, w float64) float64 {
	h := p.labelHeight(ru.Label) + ru.legendHeight(p, w) + ru.flagLines()*p.line(Small) + ru.stripHeight(p)
	if ru.Problem != "" {
		h += padPx + Note{Text: ru.Problem, Problem: true}.height(p, w)
	}
	return h
}

// overhangPx is how far the rule goes on beyond the ends of its scale.
const overhangPx = 16

func (ru Ruler) parts(p *pass, r Rect) rulerParts {
	var parts rulerParts
	plotH := math.Floor(r.H - ru.around(p, r.W))
	_, r = r.top(p.labelHeight(ru.Label))
	parts.legend, r = r.top(ru.legendHeight(p, r.W))
	side := 0.0
	if len(ru.Curves) > 0 {
		side = math.Ceil(p.sideWidth(ru.Y)) + padPx
	}
	inner := Rect{r.X + overhangPx + side, r.Y, r.W - 2*overhangPx - side, r.H}
	parts.flags, inner = inner.top(ru.flagLines() * p.line(Small))
	parts.plot, inner = inner.top(plotH)
	parts.track = Rect{inner.X, inner.Y, inner.W, ru.stripHeight(p)}
	parts.strip = Rect{r.X + side, inner.Y, r.W - side, ru.stripHeight(p)}
	return parts
}

func (ru Ruler) draw(p *pass, r Rect) {
	parts := ru.parts(p, r)
	value := ""
	if ru.Entry != "" {
		value = "typed: " + ru.Entry
	}
	p.caption(cmpOr(ru.Label, " "), value, r)
	drawLegends(p, parts.legend, ru.Curves)
	paper := parts.flags
	paper.X, paper.W = parts.strip.X, parts.strip.W
	paper.H += parts.plot.H
	p.fill(paper, Sheet)
	p.ground(ru.Scale, ru.Y, parts.plot)
	if len(ru.Curves) > 0 {
		p.sideTicks(ru.Y, parts.plot, parts.strip.X-padPx)
	}
	ru.drawBands(p, parts)
	for _, m := range ru.Marks {
		ru.drawStretch(p, m, parts)
	}
	for _, c := range ru.Curves {
		p.polyline(c.shown(p), ru.Scale, ru.Y, parts.plot, c.Ink, 1.5, c.Dash)
	}
	ru.drawStrip(p, parts)
	ru.drawFlags(p, parts)
	if ru.Problem != "" {
		y := parts.strip.Bottom() + padPx
		p.place(Note{Text: ru.Problem, Problem: true}, Rect{r.X, y, r.W, r.Bottom() - y})
	}
}

// drawStrip is the rule: a sheet with a sharp edge, ticks and numbers.
func (ru Ruler) drawStrip(p *pass, parts rulerParts) {
	s := parts.strip
	p.fill(s, Sheet)
	p.frameLine(s, SoftInk)
	p.stroke(Ink, 2, Solid, p.path(Point{s.X, s.Y + 1}, Point{s.Right(), s.Y + 1}))
	track := parts.track
	track.W++ // the last tick stands on the last pixel of the scale
	p.ticks(ru.Scale, track, s.Y+2, 14, 8, Ink)
	wide := parts.track.Inset(-overhangPx + 4)
	p.rulerNumbers(ru.Scale, parts.track, wide, s.Y+16+p.line(Small)/2)
}

// rulerNumbers writes the labels under their ticks; those at the ends may
// reach into the overhang.
func (p *pass) rulerNumbers(s Scale, track, room Rect, y float64) {
	grown := s
	if s.Log {
		ratio := math.Pow(s.Max/s.Min, (track.X-room.X)/track.W)
		grown.Min, grown.Max = s.Min/ratio, s.Max*ratio
	} else {
		more := (s.Max - s.Min) * (track.X - room.X) / track.W
		grown.Min, grown.Max = s.Min-more, s.Max+more
	}
	p.tickLabels(grown, room, y, style{size: Small, ink: Ink})
}

func (ru Ruler) drawBands(p *pass, parts rulerParts) {
	if len(ru.Bands) == 0 {
		return
	}
	plot := parts.plot
	chosen := -1
	if ru.Set {
		chosen = ru.band(ru.Value)
	}
	for i, b := range ru.Bands {
		r := ru.stretch(b.Lo, b.Hi, plot)
		if i == chosen {
			p.hatch(r.Inset(1), Brass, 8)
			p.stroke(Brass, 4, Solid, p.path(Point{r.X, r.Bottom() - 2}, Point{r.Right(), r.Bottom() - 2}))
		}
		if !ru.Off {
			p.outline(Rect{r.X, r.Y, r.W + 1, r.H}, Brass, 1, Solid)
		}
		ru.drawBandLabel(p, b, r, i == chosen)
	}
}

// drawBandLabel writes the name of a band into it, on a clear ground, where it fits.
func (ru Ruler) drawBandLabel(p *pass, b Band, r Rect, chosen bool) {
	t := style{size: Small, ink: Brass, bold: chosen}
	if ru.Off {
		t.ink = SoftInk
	}
	w := p.textWidth(b.Label, style{size: Small, bold: true})
	if w+padPx > r.W {
		return
	}
	back := Rect{math.Round(r.X + (r.W-w)/2 - 3), r.Bottom() - 8 - p.line(Small), w + 6, p.line(Small)}
	p.fill(back, Sheet)
	p.labelAt(b.Label, t, back, 0.5)
}

// stretch is the part of the plot between two values, in whole pixels.
func (ru Ruler) stretch(lo, hi float64, plot Rect) Rect {
	x0 := math.Round(max(plot.X, ru.Scale.x(lo, plot)))
	x1 := math.Round(min(plot.Right(), ru.Scale.x(hi, plot)))
	return Rect{x0, plot.Y, max(0, x1-x0), plot.H}
}

// drawStretch shows how far a mark reaches: a bracket and hatching.
func (ru Ruler) drawStretch(p *pass, m RulerMark, parts rulerParts) {
	if m.Lo >= m.Hi {
		return
	}
	r := ru.stretch(m.Lo, m.Hi, parts.plot)
	p.stroke(m.Ink, 2, m.Dash, p.path(Point{r.X + 1, r.Bottom() - 12}, Point{r.X + 1, r.Bottom() - 4},
		Point{r.Right() - 1, r.Bottom() - 4}, Point{r.Right() - 1, r.Bottom() - 12}))
}

// drawFlags writes every mark's name on a line of its own, at its line, and
// the cursor's on the last one, nearest to the rule.
func (ru Ruler) drawFlags(p *pass, parts rulerParts) {
	line := p.line(Small)
	for i, m := range ru.byPlace() {
		y := parts.flags.Y + float64(i)*line
		ru.drawFlag(p, m, y, parts)
	}
	if ru.Set && !ru.Off {
		text := ru.ValueText
		cursor := RulerMark{Label: text, Value: ru.Value, Ink: Brass, Mark: Diamond}
		ru.drawFlag(p, cursor, parts.flags.Bottom()-line, parts)
		x := hair(ru.Scale.x(ru.Value, parts.plot))
		p.drawHandle(ru.ID, x, parts.strip.Y)
	}
}

// drawFlag draws a line at the mark's value from its name down to the rule.
func (ru Ruler) drawFlag(p *pass, m RulerMark, y float64, parts rulerParts) {
	x := hair(ru.Scale.x(m.Value, parts.plot))
	middle := y + p.line(Small)/2
	p.stroke(m.Ink, 2, m.Dash, p.path(Point{x, middle}, Point{x, parts.strip.Y}))
	p.mark(m.Mark, Point{x, middle}, 6, m.Ink)
	t := style{size: Small, ink: Ink, bold: true}
	w := p.textWidth(m.Label, t)
	left := x + 12
	if left+w > parts.strip.Right() {
		left = x - 12 - w
	}
	p.fill(Rect{left - 2, y + 1, w + 4, p.line(Small) - 2}, Sheet)
	p.write(m.Label, t, math.Round(left), middle)
}
