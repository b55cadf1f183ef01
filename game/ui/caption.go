package ui

var (
	labelStyle = style{size: Small, ink: SoftInk}
	valueStyle = style{size: Small, ink: Ink, bold: true}
)

// labelHeight is the room of the small line over a control, none without a label.
func (p *pass) labelHeight(label string) float64 {
	if label == "" {
		return 0
	}
	return p.line(Small) + 4
}

// caption writes that line: what it is at the left, its value at the right.
func (p *pass) caption(label, value string, r Rect) {
	line, _ := r.top(p.line(Small))
	if label == "" {
		return
	}
	w := p.textWidth(value, valueStyle)
	p.labelAt(value, valueStyle, line, 1)
	line.W -= w + padPx
	p.label(label, labelStyle, line)
}

// measure is a pass that only measures, for handling events.
func (f *Frame) measure() *pass {
	return &pass{page: f.page, view: f.view, state: f.state, focus: f.focus, measurer: f.measurer, frame: &Frame{}}
}
