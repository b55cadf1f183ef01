package ui

import "math"

// Waveform shows material, the loop that is cut from it, and where it plays.
// A loop is drawn with the mouse, or moved by arrow keys: the whole loop,
// with shift its end.
type Waveform struct {
	ID, Label string
	Scale     Scale   // time; Step moves the loop
	Peaks     []Peak  // evenly over the scale
	Lo, Hi    float64 // the loop; Lo = Hi is none
	LoopText  string  // "loop 0:10 to 0:18"
	Playhead  float64
	Playing   bool // whether there is a playhead
	Tip       string
}

// Peak is the least and the greatest sample of a stretch, -1 to 1.
type Peak struct{ Lo, Hi float32 }

func (w Waveform) id() string  { return w.ID }
func (w Waveform) tip() string { return w.Tip }

func (w Waveform) width(p *pass) float64 { return 30 * p.em(Body) }

func (w Waveform) height(p *pass, _ float64) float64 {
	return p.labelHeight("x") + 96*p.view.TextScale + padPx + p.line(Small)
}

func (w Waveform) plot(p *pass, r Rect) Rect {
	_, r = r.top(p.labelHeight("x"))
	r.H = math.Floor(r.H - padPx - p.line(Small))
	return r
}

func (w Waveform) draw(p *pass, r Rect) {
	p.caption(cmpOr(w.Label, " "), w.LoopText, r)
	plot := w.plot(p, r)
	p.fill(plot, Sheet)
	p.frameLine(plot, SoftInk)
	w.drawLoop(p, plot)
	w.drawPeaks(p, plot)
	p.ticks(w.Scale, plot, plot.Bottom(), 6, 3, Ink)
	p.tickLabels(w.Scale, plot, plot.Bottom()+padPx+p.line(Small)/2, labelStyle)
	if w.Playing {
		x := hair(w.Scale.x(w.Playhead, plot))
		p.fill(Rect{x - 3, plot.Y + 1, 6, plot.H - 2}, Sheet)
		p.stroke(Oxblood, 2, Solid, p.path(Point{x, plot.Y}, Point{x, plot.Bottom()}))
		p.mark(Triangle, Point{x, plot.Bottom() + 3}, 5, Oxblood)
	}
}

// drawPeaks is one outline: along the tops and back along the bottoms.
func (w Waveform) drawPeaks(p *pass, plot Rect) {
	n := len(w.Peaks)
	if n == 0 {
		return
	}
	start := len(p.points)
	for i := range 2 * n {
		k, v := i, float32(0)
		if i < n {
			v = w.Peaks[k].Hi
		} else {
			k = 2*n - 1 - i
			v = w.Peaks[k].Lo
		}
		p.points = append(p.points, w.onPlot(k, float64(v), i < n, plot))
	}
	p.fillPath(SoftInk, p.points[start:len(p.points):len(p.points)])
}

// onPlot keeps half a pixel of line where there is silence.
func (w Waveform) onPlot(k int, v float64, top bool, plot Rect) Point {
	half := plot.H/2 - 4
	y := plot.Y + plot.H/2 - v*half
	if top {
		y = min(y, plot.Y+plot.H/2-0.5)
	} else {
		y = max(y, plot.Y+plot.H/2+0.5)
	}
	return Point{plot.X + (float64(k)+0.5)/float64(len(w.Peaks))*plot.W, y}
}

// drawLoop is a brass bracket over the loop with a hatched ground.
func (w Waveform) drawLoop(p *pass, plot Rect) {
	if w.Lo >= w.Hi {
		return
	}
	x0, x1 := math.Round(w.Scale.x(w.Lo, plot)), math.Round(w.Scale.x(w.Hi, plot))
	r := Rect{x0, plot.Y, x1 - x0, plot.H}
	p.hatch(r.Inset(1), Rule, 8)
	p.outline(r, Brass, 2, Solid)
	p.fill(Rect{r.X, r.Y, r.W, 6}, Brass)
}

func (w Waveform) handle(in *input) (Action, bool) {
	plot := w.plot(in.frame.measure(), in.box.Rect)
	switch in.Kind {
	case Press:
		in.state.Anchor = w.Scale.Snap(w.Scale.At((in.At.X - plot.X) / plot.W))
		return Action{}, true
	case Move:
		to := w.Scale.Snap(w.Scale.At((in.At.X - plot.X) / plot.W))
		return w.loop(min(in.state.Anchor, to), max(in.state.Anchor, to)), true
	case KeyDown:
		return w.key(in.Key)
	}
	return Action{}, false
}

func (w Waveform) key(k Key) (Action, bool) {
	switch k {
	case KeyArrowLeft.Shift():
		return w.loop(w.Lo, w.Scale.Move(w.Hi, -1)), true
	case KeyArrowRight.Shift():
		return w.loop(w.Lo, w.Scale.Move(w.Hi, 1)), true
	case KeyEnter:
		return Action{Kind: Submit, ID: w.ID, Lo: w.Lo, Hi: w.Hi}, true
	}
	n, ok := w.Scale.keyMove(k)
	if !ok {
		return Action{}, false
	}
	length := w.Hi - w.Lo
	to := w.Scale.At(math.Copysign(2, n)*0.5 + 0.5)
	if !math.IsInf(n, 0) {
		to = w.Scale.Move(w.Lo, n)
	}
	lo := min(max(w.Scale.Min, to), w.Scale.Max-length)
	return w.loop(lo, lo+length), true
}

// loop is the change to a loop, nothing where it is the same or would be empty.
func (w Waveform) loop(lo, hi float64) Action {
	if hi <= lo || lo == w.Lo && hi == w.Hi {
		return Action{}
	}
	return Action{Kind: Changed, ID: w.ID, Lo: lo, Hi: hi}
}

func (w Waveform) say(s *speech) {
	text := "no loop"
	if w.Lo < w.Hi {
		text = w.LoopText
	}
	s.control(w.ID, s.named(w.Label, text))
}
