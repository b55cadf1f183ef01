package ui

import "math"

// Dialogue asks something in front of the page, which waits meanwhile.
type Dialogue struct {
	Title   string
	Text    string
	Body    Item // may be nil
	Buttons []Button
	Cancel  string // ID that Escape presses
	Focus   string // ID that has the keyboard first; empty: the first button
}

func (d *Dialogue) first() string {
	if d.Focus == "" && len(d.Buttons) > 0 {
		return d.Buttons[0].ID
	}
	return d.Focus
}

func (d *Dialogue) item() Item {
	items := []Item{Text{Text: d.Title, Size: Head, Bold: true}}
	if d.Text != "" {
		items = append(items, Text{Text: d.Text})
	}
	if d.Body != nil {
		items = append(items, d.Body)
	}
	buttons := Row{}
	for _, b := range d.Buttons {
		buttons.Items = append(buttons.Items, b)
	}
	return Column{Items: append(items, Space{0}, buttons)}
}

// dialogueScroll is the ID of the scrolling inside a dialogue.
const dialogueScroll = "dialogue"

// drawDialogue strikes the page out and lays a sheet over it.
func (p *pass) drawDialogue(all Rect) {
	p.hatch(all, Rule, 8)
	it := Scroll{ID: dialogueScroll, Item: p.page.Dialogue.item(), overhang: true}
	w := math.Round(min(all.W-2*marginPx, proseWidth*p.em(Body)))
	h := min(all.H-2*gapPx, math.Ceil(it.height(p, w-2*marginPx)+2*marginPx))
	r := Rect{math.Round((all.W - w) / 2), math.Round((all.H - h) / 2), w, h}
	p.fill(r.Inset(-padPx), Ground)
	p.fill(r, Sheet)
	p.outline(r.Inset(-padPx), Ink, 2, Solid)
	p.frameLine(r, Ink)
	p.place(it, Rect{r.X + marginPx, r.Y + marginPx - padPx, r.W - 2*marginPx, r.H - 2*marginPx + 2*padPx})
}

func (d *Dialogue) say(s *speech) {
	s.blank()
	s.line("== asks first")
	d.item().say(s)
}
