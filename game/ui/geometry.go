package ui

import "math"

// Point is a place on the screen in logical pixels, y downwards.
type Point struct{ X, Y float64 }

// Rect is a rectangle in logical pixels: its upper left corner and its size.
type Rect struct{ X, Y, W, H float64 }

// Right is the first x beyond the rectangle.
func (r Rect) Right() float64 { return r.X + r.W }

// Bottom is the first y beyond the rectangle.
func (r Rect) Bottom() float64 { return r.Y + r.H }

// Has reports whether p is inside; the right and lower edges are outside.
func (r Rect) Has(p Point) bool {
	return p.X >= r.X && p.X < r.Right() && p.Y >= r.Y && p.Y < r.Bottom()
}

// Empty reports whether no point is inside.
func (r Rect) Empty() bool { return r.W <= 0 || r.H <= 0 }

// Inset moves every edge inwards by px; a negative px moves them outwards.
func (r Rect) Inset(px float64) Rect {
	return Rect{r.X + px, r.Y + px, max(0, r.W-2*px), max(0, r.H-2*px)}
}

// Meet is the part that r and s share, empty where they share nothing.
func (r Rect) Meet(s Rect) Rect {
	x, y := max(r.X, s.X), max(r.Y, s.Y)
	w, h := min(r.Right(), s.Right())-x, min(r.Bottom(), s.Bottom())-y
	if w <= 0 || h <= 0 {
		return Rect{X: x, Y: y}
	}
	return Rect{x, y, w, h}
}

// Within reports whether all of r lies inside s, to within half a pixel.
func (r Rect) Within(s Rect) bool {
	const slackPx = 0.5
	return r.X >= s.X-slackPx && r.Y >= s.Y-slackPx &&
		r.Right() <= s.Right()+slackPx && r.Bottom() <= s.Bottom()+slackPx
}

// top cuts a strip of height px off the upper edge and returns it and the rest.
func (r Rect) top(px float64) (strip, rest Rect) {
	px = min(px, r.H)
	return Rect{r.X, r.Y, r.W, px}, Rect{r.X, r.Y + px, r.W, r.H - px}
}

// left cuts a strip of width px off the left edge and returns it and the rest.
func (r Rect) left(px float64) (strip, rest Rect) {
	px = min(px, r.W)
	return Rect{r.X, r.Y, px, r.H}, Rect{r.X + px, r.Y, r.W - px, r.H}
}

// middle is the centre of the rectangle.
func (r Rect) middle() Point { return Point{r.X + r.W/2, r.Y + r.H/2} }

// hair moves a coordinate to the middle of its pixel, where a line one pixel
// wide is sharp.
func hair(v float64) float64 { return math.Floor(v) + 0.5 }

func bounds(path []Point) Rect {
	if len(path) == 0 {
		return Rect{}
	}
	x0, y0, x1, y1 := path[0].X, path[0].Y, path[0].X, path[0].Y
	for _, p := range path[1:] {
		x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
	}
	return Rect{x0, y0, x1 - x0, y1 - y0}
}
