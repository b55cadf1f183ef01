package ui

// Slider sets a value along a scale.
type Slider struct {
	ID, Label string
	Scale     Scale
	Value     float64
	ValueText string // the value with its unit
	Tip       string
}

func (sl Slider) id() string  { return sl.ID }
func (sl Slider) tip() string { return sl.Tip }

func (sl Slider) width(p *pass) float64 {
	return max(16*p.em(Body), p.textWidth(sl.Label, labelStyle)+p.textWidth(sl.ValueText, valueStyle)+gapPx)
}

func (sl Slider) height(p *pass, _ float64) float64 {
	h := p.labelHeight(sl.Label) + 32
	if len(sl.Scale.Ticks) > 0 {
		h += p.line(Small)
	}
	return h
}

// track is where the handle moves; half a handle is left free at the ends.
func (sl Slider) track(p *pass, r Rect) Rect {
	return Rect{r.X + 8, r.Y + p.labelHeight(sl.Label), r.W - 16, 32}
}

func (sl Slider) draw(p *pass, r Rect) {
	p.caption(sl.Label, sl.ValueText, r)
	t := sl.track(p, r)
	y := t.Y + 16
	p.ticks(sl.Scale, t, y, 10, 6, SoftInk)
	p.stroke(Ink, 1, Solid, p.path(Point{t.X, hair(y)}, Point{t.Right(), hair(y)}))
	p.tickLabels(sl.Scale, t, t.Bottom()+p.line(Small)/2-2, labelStyle)
	x := sl.Scale.x(sl.Value, t)
	p.stroke(Brass, 3, Solid, p.path(Point{t.X, y + 0.5}, Point{x, y + 0.5}))
	p.drawHandle(sl.ID, x, y)
}

// drawHandle is the runner of a calliper: a plate with a line at the value.
func (p *pass) drawHandle(id string, x, y float64) {
	r := Rect{hair(x) - 7.5, y - 12, 15, 24}
	p.fillPath(Brass, p.plate(r))
	p.stroke(Sheet, 1, Solid, p.path(Point{hair(x), r.Y + 5}, Point{hair(x), r.Bottom() - 5}))
	if p.state.Hover == id {
		p.outline(r.Inset(-2), Brass, 1, Solid)
	}
}

func (sl Slider) handle(in *input) (Action, bool) {
	v, ok := sl.Scale.moved(sl.Value, in, sl.track(in.frame.measure(), in.box.Rect))
	if !ok || v == sl.Value {
		return Action{}, ok
	}
	return Action{Kind: Changed, ID: sl.ID, Value: v}, true
}

func (sl Slider) say(s *speech) { s.control(sl.ID, s.named(sl.Label, sl.ValueText)) }
