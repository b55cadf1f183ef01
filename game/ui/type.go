package ui

import (
	"math"
	"strings"
	"unicode/utf8"
)

// Size is one of the four sizes of type.
type Size uint8

const (
	Body  Size = iota
	Small      // labels, keys, numbers at lines
	Head       // of a panel or a dialogue
	Large      // the question
)

// face is a size of type: px per em and from line to line, at text scale 1.
type face struct{ em, line float64 }

var faces = [...]face{Body: {16, 24}, Small: {13, 20}, Head: {20, 28}, Large: {30, 40}}

// Measurer tells how wide a text is drawn. A window asks its font; tests use
// fixed widths and get the same layout everywhere. A frame is laid out with
// many short, recurring texts: a slow measurer should remember its answers.
type Measurer interface {
	WidthPx(text string, sizePx float64, bold bool) float64
}

// style is how a text is written.
type style struct {
	size Size
	ink  Token
	bold bool
}

func (p *pass) em(s Size) float64   { return faces[s].em * p.view.TextScale }
func (p *pass) line(s Size) float64 { return math.Round(faces[s].line * p.view.TextScale) }

func (p *pass) textWidth(text string, t style) float64 {
	if text == "" {
		return 0
	}
	return p.measurer.WidthPx(text, p.em(t.size), t.bold)
}

// fit shortens a text that is wider than width and ends it with an ellipsis.
func (p *pass) fit(text string, t style, width float64) string {
	if p.textWidth(text, t) <= width {
		return text
	}
	for text != "" {
		_, n := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-n]
		if p.textWidth(text, t)+p.textWidth("…", t) <= width {
			return strings.TrimRight(text, " ") + "…"
		}
	}
	return ""
}

// wrap breaks a text into lines no wider than width, between words where it
// can. The lines are good until the next call.
func (p *pass) wrap(text string, t style, width float64) []string {
	lines := p.lines[:0]
	for paragraph := range strings.SplitSeq(text, "\n") {
		lines = p.wrapParagraph(lines, paragraph, t, width)
	}
	p.lines = lines
	return lines
}

func (p *pass) wrapParagraph(lines []string, text string, t style, width float64) []string {
	if p.textWidth(text, t) <= width {
		return append(lines, text)
	}
	space := p.textWidth(" ", t)
	start, end, x := 0, 0, 0.0 // the line so far is text[start:end], x wide
	for end < len(text) {
		next := wordEnd(text, end)
		word := p.textWidth(strings.TrimLeft(text[end:next], " "), t)
		switch {
		case start == end && word > width:
			next = start + p.fitting(text[start:next], t, width)
			lines = append(lines, text[start:next])
			start, end, x = next, next, 0
		case start == end:
			end, x = next, word
		case x+space+word <= width:
			end, x = next, x+space+word
		default:
			lines = append(lines, text[start:end])
			start = end + 1
			end, x = start, 0
		}
	}
	if start < end {
		lines = append(lines, text[start:end])
	}
	return lines
}

// wordEnd is where the word after position i, and the space before it, ends.
func wordEnd(text string, i int) int {
	if i < len(text) && text[i] == ' ' {
		i++
	}
	n := strings.IndexByte(text[i:], ' ')
	if n < 0 {
		return len(text)
	}
	return i + n
}

// fitting is how many bytes of a text fit into width: whole characters, at least one.
func (p *pass) fitting(text string, t style, width float64) int {
	n := 0
	for i, r := range text {
		end := i + utf8.RuneLen(r)
		if n > 0 && p.textWidth(text[:end], t) > width {
			break
		}
		n = end
	}
	return n
}
