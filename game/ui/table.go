package ui

import (
	"math"
	"strings"
)

// Table is rows under column titles. With an ID its rows can be chosen.
type Table struct {
	ID, Label string
	Columns   []TableColumn
	Rows      [][]string
	Chosen    int // -1 for none
	Show      int // rows it asks room for; 0 is all
	Tip       string
}

// TableColumn heads a column.
type TableColumn struct {
	Title  string
	Number bool // aligned at the right, so that figures stand under figures
}

func (t Table) id() string  { return t.ID }
func (t Table) tip() string { return t.Tip }
func (t Table) rows() rows  { return rows{t.ID, len(t.Rows), t.Chosen} }

const unbounded = 1e9 // px

// widths are what the columns need, in px, and together at most w.
func (t Table) widths(p *pass, w float64, into []float64) []float64 {
	total := 0.0
	for i, c := range t.Columns {
		need := p.textWidth(c.Title, valueStyle)
		for _, row := range t.Rows {
			need = max(need, p.textWidth(cell(row, i), style{bold: true}))
		}
		into = append(into, need+24)
		total += need + 24
	}
	for total > w+0.5 {
		total -= narrow(into, total-w)
	}
	if n := len(into); n > 0 && w < unbounded {
		more := min(48, math.Floor((w-total)/float64(n)))
		for i := range into {
			into[i] += more
		}
	}
	return into
}

// narrow takes up to excess from the widest column, in steps that keep the
// others' share fair, and returns what it took.
func narrow(widths []float64, excess float64) float64 {
	widest := 0
	for i, w := range widths {
		if w > widths[widest] {
			widest = i
		}
	}
	took := min(excess, max(1, widths[widest]/8))
	widths[widest] -= took
	return took
}

func (t Table) width(p *pass) float64 {
	var few [16]float64
	w := t.rows().indent(p) + padPx + barPx
	for _, c := range t.widths(p, unbounded, few[:0]) {
		w += c
	}
	return max(w, p.textWidth(t.Label, labelStyle)) + 1
}

func (t Table) height(p *pass, _ float64) float64 {
	n := len(t.Rows)
	if t.Show > 0 {
		n = min(n, t.Show)
	}
	return p.labelHeight(t.Label) + t.titleHeight(p) + float64(n)*t.rows().rowHeight(p)
}

func (t Table) titleHeight(p *pass) float64 { return p.line(Small) + padPx }

func (t Table) parts(p *pass, r Rect) (titles, body Rect) {
	_, r = r.top(p.labelHeight(t.Label))
	return r.top(t.titleHeight(p))
}

func (t Table) draw(p *pass, r Rect) {
	p.caption(t.Label, "", r)
	titles, body := t.parts(p, r)
	indent := t.rows().indent(p)
	var few [16]float64
	widths := t.widths(p, r.W-indent-padPx-barPx, few[:0])
	p.across(r.X, r.Right(), titles.Bottom()-2, Ink)
	t.drawCells(p, widths, Rect{r.X + indent, titles.Y, titles.W - indent, titles.H - 4}, labelStyle,
		func(i int) string { return t.Columns[i].Title })
	t.rows().draw(p, body, func(i int, r Rect, ink style) {
		if i != t.Chosen || t.ID == "" {
			p.across(r.X-indent, r.Right()+padPx, r.Bottom()-1, Rule)
		}
		t.drawCells(p, widths, r, ink, func(k int) string { return cell(t.Rows[i], k) })
	})
}

func (t Table) drawCells(p *pass, widths []float64, r Rect, ink style, text func(i int) string) {
	for i, w := range widths {
		align := 0.0
		if t.Columns[i].Number {
			align = 1
		}
		p.labelAt(text(i), ink, Rect{r.X, r.Y, w - 24, r.H}, align)
		r.X += w
	}
}

// cell is empty where a row is too short, which Check reports.
func cell(row []string, i int) string {
	if i >= len(row) {
		return ""
	}
	return row[i]
}

func (t Table) handle(in *input) (Action, bool) {
	_, body := t.parts(in.frame.measure(), in.box.Rect)
	return t.rows().handle(in, body)
}

func (t Table) say(s *speech) {
	if t.ID != "" || t.Label != "" {
		s.control(t.ID, cmpOr(t.Label, "table"))
	}
	n := make([]int, len(t.Columns))
	titles := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		titles[i] = c.Title
		n[i] = runes(c.Title)
		for _, row := range t.Rows {
			n[i] = max(n[i], runes(cell(row, i)))
		}
	}
	s.line("    " + t.sayRow(titles, n))
	for i, row := range t.Rows {
		lead := "    "
		if t.ID != "" && i == t.Chosen {
			lead = "  * "
		}
		s.hang(lead+t.sayRow(row, n), "        ")
	}
}

func (t Table) sayRow(row []string, n []int) string {
	cells := make([]string, len(t.Columns))
	for i, column := range t.Columns {
		cells[i] = pad(cell(row, i), n[i])
		if column.Number {
			cells[i] = padLeft(cell(row, i), n[i])
		}
	}
	return strings.TrimRight(strings.Join(cells, "  "), " ")
}
