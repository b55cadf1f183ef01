package ui

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Field is one line of text that is typed. The scene keeps the text.
type Field struct {
	ID, Label string
	Value     string
	Hint      string // shown while Value is empty
	Unit      string // written at the right
	Problem   string // what is wrong with Value and what to do, under it
	Tip       string
}

func (fd Field) id() string  { return fd.ID }
func (fd Field) tip() string { return fd.Tip }

func (fd Field) width(p *pass) float64 {
	return max(14*p.em(Body), p.textWidth(fd.Label, labelStyle)+1)
}

func (fd Field) height(p *pass, w float64) float64 {
	h := p.labelHeight(fd.Label) + p.line(Body) + 2*padPx
	if fd.Problem != "" {
		h += 4 + fd.note().height(p, w)
	}
	return h
}

func (fd Field) note() Note { return Note{Text: fd.Problem, Problem: true} }

// parts are the plate of the field and the room for text inside it.
func (fd Field) parts(p *pass, r Rect) (plate, text Rect) {
	_, plate = r.top(p.labelHeight(fd.Label))
	plate.H = p.line(Body) + 2*padPx
	text = plate.Inset(padPx)
	if fd.Unit != "" {
		text.W -= p.textWidth(fd.Unit, labelStyle) + padPx
	}
	return plate, text
}

func (fd Field) draw(p *pass, r Rect) {
	p.caption(fd.Label, "", r)
	plate, text := fd.parts(p, r)
	p.touch(fd.ID, plate, false, false)
	p.labelAt(fd.Unit, labelStyle, plate.Inset(padPx), 1)
	clip := p.clip
	p.clip = clip.Meet(text.Inset(-2))
	p.write(fd.Value, style{}, text.X-fd.shift(p, text.W), text.middle().Y)
	if fd.Value == "" {
		p.write(fd.Hint, style{ink: SoftInk}, text.X, text.middle().Y)
	}
	if p.focus == fd.ID {
		fd.drawCaret(p, text)
	}
	p.clip = clip
	if fd.Problem != "" {
		p.place(fd.note(), Rect{r.X, plate.Bottom() + 4, r.W, r.Bottom() - plate.Bottom() - 4})
	}
}

func (fd Field) drawCaret(p *pass, text Rect) {
	x := hair(text.X + fd.caretX(p) - fd.shift(p, text.W))
	p.stroke(Oxblood, 2, Solid, p.path(Point{x, text.Y}, Point{x, text.Bottom()}))
}

func (fd Field) caret(s *State) int { return min(max(0, s.Caret), utf8.RuneCountInString(fd.Value)) }

func (fd Field) caretX(p *pass) float64 {
	return p.textWidth(fd.Value[:byteAt(fd.Value, fd.caret(&p.state))], style{})
}

// shift is how far the text is moved left so that the caret is in sight.
func (fd Field) shift(p *pass, room float64) float64 {
	if p.focus != fd.ID {
		return 0
	}
	return math.Round(max(0, fd.caretX(p)-room+2))
}

// byteAt is where the n-th character of s begins.
func byteAt(s string, n int) int {
	for i := range s {
		if n == 0 {
			return i
		}
		n--
	}
	return len(s)
}

func (fd Field) handle(in *input) (Action, bool) {
	switch in.Kind {
	case Typed:
		return fd.insert(in, in.Text), true
	case KeyDown:
		return fd.key(in)
	case Press, Move:
		p := in.frame.measure()
		_, text := fd.parts(p, in.box.Rect)
		in.state.Caret = fd.nearest(p, in.At.X-text.X+fd.shift(p, text.W))
		return Action{}, true
	}
	return Action{}, false
}

// nearest is the caret position closest to x.
func (fd Field) nearest(p *pass, x float64) int {
	n, before := 0, 0.0
	for i, r := range fd.Value {
		after := p.textWidth(fd.Value[:i+utf8.RuneLen(r)], style{})
		if x < (before+after)/2 {
			break
		}
		before = after
		n++
	}
	return n
}

func (fd Field) insert(in *input, text string) Action {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return -1
		}
		return r
	}, text)
	caret := fd.caret(in.state)
	i := byteAt(fd.Value, caret)
	in.state.Caret = caret + utf8.RuneCountInString(text)
	return fd.changed(fd.Value[:i] + text + fd.Value[i:])
}

func (fd Field) changed(value string) Action {
	return Action{Kind: Changed, ID: fd.ID, Text: value}
}

func (fd Field) key(in *input) (Action, bool) {
	caret := fd.caret(in.state)
	switch in.Key {
	case KeyArrowLeft:
		in.state.Caret = max(0, caret-1)
	case KeyArrowRight:
		in.state.Caret = caret + 1
	case KeyHome:
		in.state.Caret = 0
	case KeyEnd:
		in.state.Caret = endOfText
	case KeyBackspace:
		return fd.remove(in, caret-1), true
	case KeyDelete:
		return fd.remove(in, caret), true
	case KeyEnter:
		return Action{Kind: Submit, ID: fd.ID, Text: fd.Value}, true
	default:
		return Action{}, false
	}
	return Action{}, true
}

// remove takes out the character at position n, if there is one.
func (fd Field) remove(in *input, n int) Action {
	if n < 0 || n >= utf8.RuneCountInString(fd.Value) {
		return Action{}
	}
	in.state.Caret = n
	return fd.changed(fd.Value[:byteAt(fd.Value, n)] + fd.Value[byteAt(fd.Value, n+1):])
}

func (fd Field) say(s *speech) {
	value := "_" + fd.Value + "_"
	if fd.Value == "" && fd.Hint != "" {
		value = "_ (" + fd.Hint + ")"
	}
	if fd.Unit != "" {
		value += " " + fd.Unit
	}
	s.control(fd.ID, s.named(fd.Label, value))
	if fd.Problem != "" {
		fd.note().say(s)
	}
}
