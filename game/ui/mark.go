package ui

import "math"

// Mark is a small drawn sign: what transport buttons show, and what tells
// data apart without colour. Marks are paths, since fonts lack most of them.
type Mark uint8

const (
	NoMark Mark = iota
	Dot
	Square
	Diamond
	Triangle
	Cross
	Ring
	Play
	Pause
	Stop
	Again
	Back
	Forth
	Done
	Warning
)

var markNames = [...]string{
	"", "dot", "square", "diamond", "triangle", "cross", "ring", "play", "pause", "stop", "again", "back",
	"forth", "done", "warning",
}

func (m Mark) String() string { return markNames[m] }

// outlines are closed, in a square from -1 to 1, y downwards.
var outlines = [...][][]Point{
	Dot:      {arc(1, 0, 2*math.Pi)},
	Square:   {rectangle(-0.85, -0.85, 0.85, 0.85)},
	Diamond:  {{{0, -1.15}, {1.15, 0}, {0, 1.15}, {-1.15, 0}}},
	Triangle: {{{0, -1.05}, {1.1, 0.85}, {-1.1, 0.85}}},
	Cross:    {bar(-0.9, -0.9, 0.9, 0.9), bar(-0.9, 0.9, 0.9, -0.9)},
	Ring:     {ring(1, 0.6, 0, 2*math.Pi)},
	Play:     {{{-0.7, -1}, {1, 0}, {-0.7, 1}}},
	Pause:    {rectangle(-0.8, -1, -0.2, 1), rectangle(0.2, -1, 0.8, 1)},
	Stop:     {rectangle(-0.9, -0.9, 0.9, 0.9)},
	Again:    {ring(0.95, 0.65, -0.25*math.Pi, 1.4*math.Pi), {{0.32, -1.2}, {0.4, -0.2}, {-0.5, -0.62}}},
	Back:     {rectangle(-1, -0.9, -0.7, 0.9), {{0.9, -0.9}, {0.9, 0.9}, {-0.6, 0}}},
	Forth:    {rectangle(0.7, -0.9, 1, 0.9), {{-0.9, -0.9}, {0.6, 0}, {-0.9, 0.9}}},
	Done:     {bar(-0.95, 0.05, -0.3, 0.75), bar(-0.38, 0.75, 0.95, -0.75)},
	Warning:  {bar(0, -1, 0.95, 0.8), bar(-0.95, 0.8, 0, -1), bar(-0.95, 0.8, 0.95, 0.8), rectangle(-0.13, -0.35, 0.13, 0.2), rectangle(-0.13, 0.35, 0.13, 0.58)},
}

func rectangle(x0, y0, x1, y1 float64) []Point {
	return []Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
}

// bar is a line as an outline, 0.3 wide.
func bar(x0, y0, x1, y1 float64) []Point {
	length := math.Hypot(x1-x0, y1-y0)
	dx, dy := -0.15*(y1-y0)/length, 0.15*(x1-x0)/length
	return []Point{{x0 + dx, y0 + dy}, {x0 - dx, y0 - dy}, {x1 - dx, y1 - dy}, {x1 + dx, y1 + dy}}
}

func arc(radius, from, to float64) []Point {
	const n = 24
	path := make([]Point, n+1)
	for i := range path {
		sin, cos := math.Sincos(from + (to-from)*float64(i)/n)
		path[i] = Point{radius * cos, radius * sin}
	}
	return path
}

func ring(outer, inner, from, to float64) []Point {
	return append(arc(outer, from, to), arc(inner, to, from)...)
}
