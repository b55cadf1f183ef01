package ui

import "math"

// Row arranges items from left to right at their natural widths, and goes on
// in a new line where they do not fit. Those in a Grow share the width that
// their line has left.
type Row struct {
	Items   []Item
	Gap     Gap
	Stretch bool // items are as high as their line; else each is centred in it
}

func (row Row) width(p *pass) float64 {
	w := gaps[row.Gap] * float64(max(0, len(row.Items)-1))
	for _, it := range row.Items {
		w += it.width(p)
	}
	return w
}

// fold breaks the row into lines and gives each to do, with the widths of its items.
func (row Row) fold(p *pass, width float64, do func(items []Item, widths []float64)) {
	var few [16]float64
	gap := gaps[row.Gap]
	widths, used, start := few[:0], 0.0, 0
	for i, it := range row.Items {
		w := min(math.Ceil(it.width(p)), width)
		if i > start && used+gap+w > width {
			row.line(row.Items[start:i], widths, width-used, do)
			widths, used, start = widths[:0], 0, i
		}
		if i > start {
			used += gap
		}
		used += w
		widths = append(widths, w)
	}
	if start < len(row.Items) {
		row.line(row.Items[start:], widths, width-used, do)
	}
}

func (row Row) line(items []Item, widths []float64, left float64, do func([]Item, []float64)) {
	spread(items, widths, left)
	do(items, widths)
}

func (row Row) height(p *pass, width float64) float64 {
	h := 0.0
	row.fold(p, width, func(items []Item, widths []float64) {
		h += tallest(p, items, widths) + lineGap(row.Gap)
	})
	return max(0, h-lineGap(row.Gap))
}

// lineGap is the space between lines of a folded row.
func lineGap(g Gap) float64 { return min(gapPx, gaps[g]) }

func tallest(p *pass, items []Item, widths []float64) float64 {
	h := 0.0
	for i, it := range items {
		h = max(h, it.height(p, widths[i]))
	}
	return h
}

func (row Row) draw(p *pass, r Rect) {
	y := r.Y
	row.fold(p, r.W, func(items []Item, widths []float64) {
		h := tallest(p, items, widths)
		if row.Stretch && len(items) == len(row.Items) {
			h = max(h, r.H)
		}
		x := r.X
		for i, it := range items {
			own := h
			if !row.Stretch {
				own = it.height(p, widths[i])
			}
			p.place(it, Rect{x, y + float64(int((h-own)/2)), widths[i], own})
			x += widths[i] + gaps[row.Gap]
		}
		y += h + lineGap(row.Gap)
	})
}

func (row Row) say(s *speech) {
	for _, it := range row.Items {
		it.say(s)
	}
}
