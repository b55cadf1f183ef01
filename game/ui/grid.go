package ui

import (
	"math"
	"strings"
)

// Grid is pairs of things, of which one holds: rows against columns. Cells
// that are no answer stay empty.
type Grid struct {
	ID, Label     string
	Rows, Columns []string
	Corner        string // what rows do to columns: "covers"
	Cells         []GridCell
	Chosen        int // index of a cell; -1 for none yet
	Tip           string
}

// GridCell is an answer of a Grid.
type GridCell struct{ Row, Column int }

func (g Grid) id() string  { return g.ID }
func (g Grid) tip() string { return g.Tip }

// sides are the width of the row names and of a column, and the height of a
// line.
func (g Grid) sides(p *pass, w float64) (name, column, line float64) {
	name = p.textWidth(g.Corner, labelStyle)
	for _, r := range g.Rows {
		name = max(name, p.textWidth(r, style{bold: true}))
	}
	name = min(math.Ceil(name)+gapPx, w/2)
	return name, math.Floor((w - name) / float64(max(1, len(g.Columns)))), p.line(Body) + 2*padPx
}

func (g Grid) width(p *pass) float64 { return 30 * p.em(Body) }

func (g Grid) height(p *pass, w float64) float64 {
	_, _, line := g.sides(p, w)
	return p.labelHeight(g.Label) + p.line(Small) + 4 + float64(len(g.Rows))*(line+4)
}

// cell is where an answer lies.
func (g Grid) cell(p *pass, r Rect, c GridCell) Rect {
	name, column, line := g.sides(p, r.W)
	top := r.Y + p.labelHeight(g.Label) + p.line(Small) + 4
	return Rect{r.X + name + float64(c.Column)*column + 2, top + float64(c.Row)*(line+4), column - 4, line}
}

func (g Grid) draw(p *pass, r Rect) {
	p.caption(g.Label, "", r)
	name, column, line := g.sides(p, r.W)
	head := Rect{r.X, r.Y + p.labelHeight(g.Label), name, p.line(Small)}
	p.label(g.Corner, labelStyle, head)
	for i, c := range g.Columns {
		p.labelAt(c, labelStyle, Rect{r.X + name + float64(i)*column, head.Y, column - 8, head.H}, 0.5)
	}
	for i, row := range g.Rows {
		y := g.cell(p, r, GridCell{Row: i}).Y
		p.label(row, style{bold: true}, Rect{r.X, y, name - padPx, line})
	}
	for i, c := range g.Cells {
		g.drawCell(p, i, g.cell(p, r, c))
	}
}

func (g Grid) drawCell(p *pass, i int, r Rect) {
	p.fillPath(Sheet, p.plate(r))
	p.outline(r, Brass, 1, Solid)
	radius := p.em(Small) * 0.3
	if i != g.Chosen {
		p.mark(Ring, r.middle(), radius, Brass)
		return
	}
	p.fillPath(Brass, p.plate(r))
	p.mark(Dot, r.middle(), radius, Sheet)
}

func (g Grid) handle(in *input) (Action, bool) {
	to := -1
	switch in.Kind {
	case Press:
		for i, c := range g.Cells {
			if g.cell(in.frame.measure(), in.box.Rect, c).Has(in.At) {
				to = i
			}
		}
	case KeyDown:
		step, ok := map[Key]GridCell{
			KeyArrowLeft: {0, -1}, KeyArrowRight: {0, 1}, KeyArrowUp: {-1, 0}, KeyArrowDown: {1, 0},
		}[in.Key]
		if !ok {
			return Action{}, false
		}
		to = g.step(step)
	}
	if to < 0 || to == g.Chosen {
		return Action{}, to >= 0
	}
	return Action{Kind: Changed, ID: g.ID, Index: to}, true
}

// step is the next answer in a direction, the first one where there is none
// yet, -1 where there is none further.
func (g Grid) step(by GridCell) int {
	if g.Chosen < 0 {
		return 0
	}
	at := g.Cells[g.Chosen]
	for range max(len(g.Rows), len(g.Columns)) {
		at = GridCell{at.Row + by.Row, at.Column + by.Column}
		for i, c := range g.Cells {
			if c == at {
				return i
			}
		}
	}
	return g.Chosen
}

func (g Grid) say(s *speech) {
	s.control(g.ID, cmpOr(g.Label, "pairs"))
	for i, c := range g.Cells {
		lead := "    "
		if i == g.Chosen {
			lead = "  * "
		}
		s.line(lead + strings.Join([]string{g.Rows[c.Row], g.Corner, g.Columns[c.Column]}, " "))
	}
}
