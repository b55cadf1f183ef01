package ui

import (
	"slices"
	"strings"
)

// Ruler is a scale to answer on, drawn like a draughtsman's rule. The answer
// is a free cursor, or one of a row of bands. It is moved by arrow keys (with
// shift in large steps), the wheel, the mouse, or a typed value.
type Ruler struct {
	ID, Label string
	Scale     Scale
	Bands     []Band // from left to right; empty: the cursor is free
	Value     float64
	Set       bool   // whether Value has been given; else there is no cursor
	ValueText string // written at the cursor: "2.5 kHz"
	Accepts   string // characters of a typed value, such as "0123456789.k"; it begins with a digit or a minus
	Entry     string // what has been typed of it
	Problem   string // what is wrong with it
	Marks     []RulerMark
	Curves    []Curve
	Y         Scale // of the curves
	Off       bool  // only read, as after the answer
	Tip       string
}

// Band is a part of a ruler that can be picked as one.
type Band struct {
	Lo, Hi float64
	Value  float64 // what picking it answers; 0 is the geometric or arithmetic middle
	Label  string
}

// RulerMark is a value, or the stretch from Lo to Hi, with a name: the truth, an answer.
type RulerMark struct {
	Label  string // "truth 2.5 kHz"
	Value  float64
	Lo, Hi float64 // Lo = Hi draws no stretch
	Ink    Token
	Mark   Mark
	Dash   Dash
}

func (ru Ruler) id() string {
	if ru.Off {
		return ""
	}
	return ru.ID
}

func (ru Ruler) tip() string { return ru.Tip }

// band is the index of the band that v lies in, or -1. The last one includes its end.
func (ru Ruler) band(v float64) int {
	for i, b := range ru.Bands {
		if v >= b.Lo && (v < b.Hi || i == len(ru.Bands)-1 && v == b.Hi) {
			return i
		}
	}
	return -1
}

func (ru Ruler) bandValue(i int) float64 {
	if b := ru.Bands[i]; b.Value == 0 {
		between := Scale{Min: b.Lo, Max: b.Hi, Log: ru.Scale.Log}
		return between.At(0.5)
	}
	return ru.Bands[i].Value
}

func (ru Ruler) handle(in *input) (Action, bool) {
	if a, ok := ru.typed(in); ok {
		return a, true
	}
	if in.Kind == KeyDown && in.Key == KeyEnter {
		if !ru.Set && ru.Entry == "" {
			return Action{}, false
		}
		return ru.answer(Submit, ru.Value), true
	}
	if len(ru.Bands) > 0 {
		return ru.moveBand(in)
	}
	v, ok := ru.moveCursor(in)
	if !ok || ru.Set && v == ru.Value && ru.Entry == "" {
		return Action{}, ok
	}
	return ru.answer(Changed, v), true
}

// answer is an action with the value and its band. A cursor that moves
// forgets what was typed.
func (ru Ruler) answer(kind ActionKind, v float64) Action {
	a := Action{Kind: kind, ID: ru.ID, Value: v, Index: ru.band(v)}
	if kind == Submit {
		a.Text = ru.Entry
	}
	return a
}

// typed takes the characters of a value. The scene gets the whole text and
// gives it back as Entry.
func (ru Ruler) typed(in *input) (Action, bool) {
	entry := Action{Kind: Changed, ID: ru.ID, Value: ru.Value, Index: ru.band(ru.Value)}
	switch {
	case in.Kind == Typed && ru.takes(in.Text):
		entry.Text = ru.Entry + in.Text
	case in.Kind == KeyDown && in.Key == KeyBackspace && ru.Entry != "":
		entry.Text = ru.Entry[:byteAt(ru.Entry, runes(ru.Entry)-1)]
	case in.Kind == KeyDown && in.Key == KeyEscape && ru.Entry != "":
	default:
		return Action{}, false
	}
	return entry, true
}

func (ru Ruler) takes(text string) bool {
	if text == "" || ru.Entry == "" && !strings.Contains("0123456789-", text[:1]) {
		return false
	}
	return strings.Trim(text, ru.Accepts) == ""
}

func (ru Ruler) moveCursor(in *input) (float64, bool) {
	v := ru.Value
	if !ru.Set {
		v = ru.Scale.At(0.5)
		if n, ok := ru.Scale.keyMove(in.Key); in.Kind == KeyDown && ok && n*n <= 1 {
			return v, true
		}
	}
	return ru.Scale.moved(v, in, ru.parts(in.frame.measure(), in.box.Rect).track)
}

func (ru Ruler) moveBand(in *input) (Action, bool) {
	at, last := ru.band(ru.Value), len(ru.Bands)-1
	to := at
	switch in.Kind {
	case KeyDown:
		n, ok := ru.Scale.keyMove(in.Key)
		if !ok {
			return Action{}, false
		}
		to = ru.stepBand(at, n)
	case Wheel:
		to = ru.stepBand(at, in.Notches)
	case Press, Move:
		track := ru.parts(in.frame.measure(), in.box.Rect).track
		to = ru.band(ru.Scale.At((in.At.X - track.X) / track.W))
	default:
		return Action{}, false
	}
	if to = min(to, last); to < 0 || ru.Set && to == at {
		return Action{}, true
	}
	return ru.answer(Changed, ru.bandValue(to)), true
}

// stepBand is the band next to one, or the middle one when there is none yet.
func (ru Ruler) stepBand(at int, n float64) int {
	last := len(ru.Bands) - 1
	if !ru.Set && n*n <= 1 {
		return last / 2
	}
	return int(min(max(0, float64(at)+n), float64(last)))
}

func (ru Ruler) say(s *speech) {
	text := "no answer yet"
	switch {
	case ru.Off:
		text = ""
	case ru.Entry != "":
		text = "typed " + ru.Entry
	case ru.Set:
		text = cmpOr(ru.ValueText, "answered")
	}
	s.control(ru.id(), s.named(ru.Label, text))
	if ru.Problem != "" {
		Note{Text: ru.Problem, Problem: true}.say(s)
	}
	if first, last, ok := ru.ends(); ok {
		s.line("    from " + first + " to " + last)
	}
	if len(ru.Bands) > 0 {
		s.line("    bands: " + ru.sayBands())
	}
	for _, m := range ru.byPlace() {
		s.line("    " + m.Mark.String() + ", " + m.Dash.String() + ": " + m.Label)
	}
	for _, c := range ru.Curves {
		s.line("    curve, " + c.Dash.String() + ": " + c.Label)
	}
}

// ends are the labels of the first and last tick that have one.
func (ru Ruler) ends() (first, last string, ok bool) {
	for _, t := range ru.Scale.Ticks {
		if t.Label != "" {
			first, last = cmpOr(first, t.Label), t.Label
		}
	}
	return first, last, first != last
}

func (ru Ruler) sayBands() string {
	labels := make([]string, len(ru.Bands))
	for i, b := range ru.Bands {
		labels[i] = b.Label
		if ru.Set && i == ru.band(ru.Value) {
			labels[i] = "(" + b.Label + ")"
		}
	}
	return strings.Join(labels, " | ")
}

// byPlace are the marks from left to right.
func (ru Ruler) byPlace() []RulerMark {
	marks := slices.Clone(ru.Marks)
	slices.SortStableFunc(marks, func(a, b RulerMark) int {
		switch {
		case a.Value < b.Value:
			return -1
		case a.Value > b.Value:
			return 1
		}
		return 0
	})
	return marks
}
