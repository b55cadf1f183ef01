package ui

import "math"

// Scale maps values to places along a rule. Units are the page's: it writes
// them into the labels of the ticks.
type Scale struct {
	Min, Max float64
	Log      bool    // equal steps are equal ratios; Min is above 0
	Step     float64 // smallest move: a difference, on Log a ratio above 1
	Coarse   float64 // large move, in Steps; 0 is 10
	Ticks    []Tick
}

// Tick is a line on a rule: long with a label, short without.
type Tick struct {
	Value float64
	Label string
}

// Place is where v lies, 0 at Min and 1 at Max; outside it goes on.
func (s Scale) Place(v float64) float64 {
	if s.Log {
		return math.Log(v/s.Min) / math.Log(s.Max/s.Min)
	}
	return (v - s.Min) / (s.Max - s.Min)
}

// At is the value at a place, the inverse of Place, exact at both ends.
func (s Scale) At(place float64) float64 {
	switch {
	case place <= 0:
		return s.Min
	case place >= 1:
		return s.Max
	case s.Log:
		return s.Min * math.Pow(s.Max/s.Min, place)
	}
	return s.Min + (s.Max-s.Min)*place
}

// Move is v moved by n steps, and kept within the scale.
func (s Scale) Move(v, n float64) float64 {
	if s.Log {
		return min(max(s.Min, v*math.Pow(s.step(), n)), s.Max)
	}
	return s.Snap(v + n*s.step())
}

// Snap is the nearest value a whole number of steps from Min; on Log it only
// keeps v within the scale.
func (s Scale) Snap(v float64) float64 {
	if !s.Log {
		v = s.Min + math.Round((v-s.Min)/s.step())*s.step()
	}
	return min(max(s.Min, v), s.Max)
}

// step is Step, or a hundredth of the scale where none is given.
func (s Scale) step() float64 {
	switch {
	case s.Step > 0:
		return s.Step
	case s.Log:
		return math.Pow(s.Max/s.Min, 0.01)
	}
	return (s.Max - s.Min) / 100
}

func (s Scale) coarse() float64 {
	if s.Coarse > 0 {
		return s.Coarse
	}
	return 10
}

// LogTicks rules a logarithmic scale: ticks at 1 to 9 of every decade, those
// at 1, 2 and 5 with a label.
func LogTicks(lo, hi float64, label func(float64) string) []Tick {
	var ticks []Tick
	for decade := math.Floor(math.Log10(lo)); ; decade++ {
		for digit := 1.0; digit < 10; digit++ {
			v := digit * math.Pow(10, decade)
			if v > hi*(1+1e-12) {
				return ticks
			}
			if v < lo*(1-1e-12) {
				continue
			}
			t := Tick{Value: v}
			if digit == 1 || digit == 2 || digit == 5 {
				t.Label = label(v)
			}
			ticks = append(ticks, t)
		}
	}
}

// LinearTicks rules a linear scale: ticks that are 1, 2 or 5 of some power of
// ten apart, about twenty of them, every fifth or so with a label.
func LinearTicks(lo, hi float64, label func(float64) string) []Tick {
	fine := niceStep((hi - lo) / 20)
	coarse := niceStep((hi - lo) / 5)
	var ticks []Tick
	for i := math.Ceil(lo/fine - 1e-9); i*fine <= hi+1e-9*fine; i++ {
		v := i * fine
		t := Tick{Value: v}
		if k := v / coarse; math.Abs(k-math.Round(k)) < 1e-6 {
			t.Label = label(v)
		}
		ticks = append(ticks, t)
	}
	return ticks
}

// niceStep is the least of 1, 2 and 5 times a power of ten that is not under
// v.
func niceStep(v float64) float64 {
	decade := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if k*decade >= v*(1-1e-9) {
			return k * decade
		}
	}
	return 10 * decade
}

// keyMove is how many steps a key moves along a scale.
func (s Scale) keyMove(k Key) (steps float64, ok bool) {
	switch k {
	case KeyArrowLeft, KeyArrowDown:
		return -1, true
	case KeyArrowRight, KeyArrowUp:
		return 1, true
	case KeyArrowLeft.Shift(), KeyArrowDown.Shift(), KeyPageDown:
		return -s.coarse(), true
	case KeyArrowRight.Shift(), KeyArrowUp.Shift(), KeyPageUp:
		return s.coarse(), true
	case KeyHome:
		return math.Inf(-1), true
	case KeyEnd:
		return math.Inf(1), true
	}
	return 0, false
}

// moved is the value that an event moves v to, if it does: an arrow key, the
// wheel, or the pointer at a place along the track.
func (s Scale) moved(v float64, in *input, track Rect) (float64, bool) {
	switch in.Kind {
	case KeyDown:
		n, ok := s.keyMove(in.Key)
		if math.IsInf(n, 0) {
			return s.At(n), ok
		}
		return s.Move(v, n), ok
	case Wheel:
		n := in.Notches
		if in.Coarse {
			n *= s.coarse()
		}
		return s.Move(v, n), true
	case Press, Move:
		return s.Snap(s.At((in.At.X - track.X) / track.W)), true
	}
	return v, false
}

// x is where v is drawn along a track.
func (s Scale) x(v float64, track Rect) float64 { return track.X + s.drawn(v)*track.W }

// drawn is the place of v, or one length beyond the end that it lies farther
// off from, since no picture can hold a logarithm of 0.
func (s Scale) drawn(v float64) float64 {
	place := s.Place(v)
	if math.IsNaN(place) {
		return -1
	}
	return min(max(-1, place), 2)
}

// tickLabels writes the labels of a scale centred under its ticks, leaving out
// those that would touch. The last one is always written.
func (p *pass) tickLabels(s Scale, track Rect, y float64, t style) {
	last := -1
	for i, tick := range s.Ticks {
		if tick.Label != "" {
			last = i
		}
	}
	if last < 0 {
		return
	}
	end := p.tickLabel(s.Ticks[last], s, track, t)
	p.write(s.Ticks[last].Label, t, end.X, y)
	free := track.X - gapPx
	for _, tick := range s.Ticks[:last] {
		r := p.tickLabel(tick, s, track, t)
		if tick.Label == "" || r.X < free || r.Right()+padPx > end.X {
			continue
		}
		p.write(tick.Label, t, r.X, y)
		free = r.Right() + padPx
	}
}

// tickLabel is the room of a tick's label, kept within the track.
func (p *pass) tickLabel(tick Tick, s Scale, track Rect, t style) Rect {
	w := p.textWidth(tick.Label, t)
	x := min(max(track.X, s.x(tick.Value, track)-w/2), track.Right()-w)
	return Rect{math.Round(x), 0, w, 0}
}

// ticks draws the lines of a scale downwards from y.
func (p *pass) ticks(s Scale, track Rect, y, long, short float64, ink Token) {
	start := len(p.points)
	for _, tick := range s.Ticks {
		h := short
		if tick.Label != "" {
			h = long
		}
		x := hair(min(s.x(tick.Value, track), track.Right()-1))
		p.points = append(p.points, Point{x, y}, Point{x, y + h})
	}
	p.strokes(ink, 1, p.points[start:len(p.points):len(p.points)])
}
