package ui

import (
	"iter"
	"math"
	"slices"
)

// Op says how a command draws.
type Op uint8

const (
	Fill   Op = iota // the inside of the closed outline Path
	Stroke           // a line through all points of Path
	Lines            // a line from each even point of Path to the next
	Label            // Text, its baseline beginning at Path[0]
)

// Command draws one thing. A window needs no more than these to show a page.
type Command struct {
	Op     Op
	Ink    Token
	Path   []Point
	Width  float64 // Stroke, Lines: px
	Dash   Dash
	Text   string
	SizePx float64 // Label: px per em
	Bold   bool
	Clip   Rect // nothing is drawn outside
}

// Equal reports whether both draw the same.
func (c Command) Equal(d Command) bool {
	return c.Op == d.Op && c.Ink == d.Ink && c.Width == d.Width && c.Dash == d.Dash && c.Text == d.Text &&
		c.SizePx == d.SizePx && c.Bold == d.Bold && c.Clip == d.Clip && slices.Equal(c.Path, d.Path)
}

// Dash tells lines apart where colour must not do it alone.
type Dash uint8

const (
	Solid Dash = iota
	Dashed
	Dotted
	DashDot
)

var dashNames = [...]string{"solid", "dashed", "dotted", "dash-dot"}

func (d Dash) String() string { return dashNames[d] }

// dashes are lengths drawn and left out in turn, in px.
var dashes = [...][]float64{Solid: nil, Dashed: {8, 5}, Dotted: {2, 4}, DashDot: {10, 4, 2, 4}}

// Strokes yields the solid lines a Stroke or Lines command is made of, its
// dashes already cut. The slice is only good until the next one.
func (c Command) Strokes() iter.Seq[[]Point] {
	return func(yield func([]Point) bool) {
		switch {
		case c.Op == Lines:
			for i := 0; i+1 < len(c.Path); i += 2 {
				if !cut(c.Path[i:i+2], dashes[c.Dash], yield) {
					return
				}
			}
		case c.Op == Stroke && len(c.Path) > 1:
			cut(c.Path, dashes[c.Dash], yield)
		}
	}
}

// cut yields the parts of path that a dash pattern draws.
func cut(path []Point, pattern []float64, yield func([]Point) bool) bool {
	if len(pattern) == 0 {
		return yield(path)
	}
	part, i, left := []Point{path[0]}, 0, pattern[0]
	for k := 1; k < len(path); k++ {
		from, to := path[k-1], path[k]
		length := math.Hypot(to.X-from.X, to.Y-from.Y)
		at := 0.0
		for length-at > left {
			at += left
			p := Point{from.X + (to.X-from.X)*at/length, from.Y + (to.Y-from.Y)*at/length}
			if i%2 == 0 && !yield(append(part, p)) {
				return false
			}
			part = append(part[:0], p)
			i++
			left = pattern[i%len(pattern)]
		}
		left -= length - at
		if i%2 == 0 {
			part = append(part, to)
		}
	}
	return i%2 == 1 || len(part) < 2 || yield(part)
}
