package ui

import "math"

// View is what a page is laid out for.
type View struct {
	WidthPx, HeightPx float64 // logical pixels; pages are made for 900 by 600 and more
	TextScale         float64 // 1 to 2
	Still             bool    // reduced motion: curves are shown where they arrive
}

// Spaces, all steps of 8.
const (
	padPx    = 8
	gapPx    = 16
	marginPx = 32
	barPx    = 16 // a scroll bar and the gap before it
	columnPx = 1120
)

// pass is one run of Layout.
type pass struct {
	page     *Page
	view     View
	state    State
	focus    string // of the page, or of the dialogue while there is one
	measurer Measurer
	frame    *Frame
	clip     Rect
	parent   int // index in frame.Boxes, -1 at the root
	scroller int // index in frame.scrollers, -1 outside all
	points   []Point
	lines    []string
}

// Layout places a page. It is pure, and panics on nothing that a page can
// hold; what a page should not hold is reported by [Frame.Check].
func Layout(page Page, view View, state State, m Measurer) *Frame {
	asked := state.asked
	state = state.of(&page)
	f := layOnce(&page, view, state, m)
	if f.state.asked != asked && f.hidden(f.focus) {
		f.reveal(&f.state)
		f = layOnce(&page, view, f.state, m)
	}
	return f
}

func layOnce(page *Page, view View, state State, m Measurer) *Frame {
	f := &Frame{Commands: make([]Command, 0, 256), Boxes: make([]Box, 0, 64), page: page, view: view, measurer: m}
	p := &pass{
		page: page, view: view, state: state, measurer: m, frame: f,
		clip: Rect{0, 0, view.WidthPx, view.HeightPx}, parent: -1, scroller: -1,
		points: make([]Point, 0, 1024), focus: state.Focus,
	}
	if page.Dialogue != nil {
		p.focus = cmpOr(state.Modal, page.Dialogue.first())
	}
	f.focus = p.focus
	p.drawPage()
	f.state = p.state
	return f
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// drawPage draws ground, head, body, foot, and what lies in front of them.
func (p *pass) drawPage() {
	all := p.clip
	p.fill(all, Ground)
	head, rest := all.top(p.headHeight())
	foot := p.footHeight()
	body := Rect{rest.X, rest.Y, rest.W, max(0, rest.H-foot)}
	p.drawHead(head)
	p.place(p.body(), centred(body))
	p.drawFoot(Rect{all.X, all.Bottom() - foot, all.W, foot})
	p.drawToast(body)
	p.frame.front = len(p.frame.Boxes)
	if p.page.Dialogue != nil {
		p.drawDialogue(all)
	}
	p.drawTip(all)
}

// centred is the column that a body is laid out in.
func centred(body Rect) Rect {
	w := min(columnPx, body.W-2*marginPx)
	return Rect{math.Round(body.X + (body.W-w)/2), body.Y, w, body.H}
}

// pageScroll is the ID of the scrolling of the whole body.
const pageScroll = "page"

func (p *pass) body() Item {
	items := []Item{Space{8}}
	if p.page.Question != "" {
		items = append(items, Text{Text: p.page.Question, Size: Large})
	}
	if p.page.Body != nil {
		items = append(items, Grow{p.page.Body})
	}
	items = append(items, Space{0})
	return Scroll{ID: pageScroll, Item: Column{Items: items}, overhang: true}
}

func (p *pass) headHeight() float64 { return p.line(Body) + 2*gapPx }

// drawHead writes title and aside on the upper edge of the page, and rules it
// like the scale of a draughtsman's rule.
func (p *pass) drawHead(r Rect) {
	p.comb(r.X, r.Right(), r.Bottom())
	inner := centred(r)
	inner.H -= padPx
	aside := style{size: Body, ink: SoftInk}
	w := min(inner.W/2, p.textWidth(p.page.Aside, aside))
	p.labelAt(p.page.Aside, aside, Rect{inner.Right() - w, inner.Y, w, inner.H}, 1)
	p.label(p.page.Title, style{size: Body, ink: Ink, bold: true}, Rect{inner.X, inner.Y, inner.W - w - gapPx, inner.H})
}

// comb is decoration: ticks every 8 px, longer ones every 40 and 80.
func (p *pass) comb(x0, x1, y float64) {
	start := len(p.points)
	for i, x := 0, x0; x <= x1; i, x = i+1, x+8 {
		h := 3.0
		switch {
		case i%10 == 0:
			h = 9
		case i%5 == 0:
			h = 6
		}
		p.points = append(p.points, Point{hair(x), y - h}, Point{hair(x), y})
	}
	p.points = append(p.points, Point{x0, hair(y)}, Point{x1, hair(y)})
	p.strokes(Rule, 1, p.points[start:len(p.points):len(p.points)])
}

func (p *pass) footHeight() float64 {
	if len(p.page.Keys) == 0 {
		return 0
	}
	return p.line(Small) + gapPx
}

// drawFoot writes as much of the key table as fits on one line, its last line always.
func (p *pass) drawFoot(r Rect) {
	keys := p.page.Keys
	if len(keys) == 0 {
		return
	}
	p.across(r.X, r.Right(), r.Y, Rule)
	inner := centred(r)
	last := keys[len(keys)-1]
	end := inner.Right() - p.hintWidth(last)
	for _, b := range keys[:len(keys)-1] {
		if w := p.hintWidth(b) + 24; inner.X+w <= end {
			p.hint(b, inner)
			inner = Rect{inner.X + w, inner.Y, inner.W - w, inner.H}
		}
	}
	p.hint(last, inner)
}

var (
	keyStyle  = style{size: Small, ink: Brass, bold: true}
	doesStyle = style{size: Small, ink: SoftInk}
)

func (p *pass) hintWidth(b Binding) float64 {
	return p.textWidth(b.Label(), keyStyle) + padPx + p.textWidth(b.Does, doesStyle)
}

func (p *pass) hint(b Binding, r Rect) {
	p.label(b.Label(), keyStyle, r)
	_, r = r.left(p.textWidth(b.Label(), keyStyle) + padPx)
	p.label(b.Does, doesStyle, r)
}
