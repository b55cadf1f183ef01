package ui

import (
	"strings"
	"unicode/utf8"
)

// Text writes the page as plain text, widthN characters wide: title, question,
// every item in reading order with its state and key, and the key table. The
// item that has the keyboard when the page opens begins with ">".
func (p Page) Text(widthN int) string {
	s := &speech{page: &p, widthN: widthN}
	s.line(spread2(p.Title, p.Aside, widthN))
	s.line(strings.Repeat("-", widthN))
	if p.Question != "" {
		s.line(p.Question)
		s.blank()
	}
	if p.Body != nil {
		p.Body.say(s)
	}
	if p.Dialogue != nil {
		p.Dialogue.say(s)
	}
	if p.Toast.Text != "" {
		s.blank()
		s.line("* " + p.Toast.Text)
	}
	s.keys(p.Keys)
	return strings.TrimRight(s.b.String(), "\n") + "\n"
}

// speech collects a page's plain text.
type speech struct {
	page   *Page
	widthN int
	b      strings.Builder
}

func (s *speech) blank() {
	if text := s.b.String(); text != "" && !strings.HasSuffix(text, "\n\n") {
		s.b.WriteByte('\n')
	}
}

// line writes text, wrapped; lines after the first are indented by four.
func (s *speech) line(text string) { s.hang(text, "    ") }

func (s *speech) hang(text, indent string) {
	for paragraph := range strings.SplitSeq(text, "\n") {
		s.wrap(paragraph, indent)
	}
}

func (s *speech) wrap(text, indent string) {
	for runes(text) > s.widthN {
		i := byteAt(text, s.widthN)
		if j := strings.LastIndexByte(text[:i+1], ' '); j > len(indent) {
			i = j
		}
		s.b.WriteString(strings.TrimRight(text[:i], " ") + "\n")
		text = indent + strings.TrimLeft(text[i:], " ")
	}
	s.b.WriteString(strings.TrimRight(text, " ") + "\n")
}

// control writes an item that can have the keyboard, with its key.
func (s *speech) control(id, text string) {
	lead := "  "
	focus := s.page.Focus
	if s.page.Dialogue != nil {
		focus = s.page.Dialogue.first()
	}
	if id == focus && id != "" {
		lead = "> "
	}
	if b, ok := s.page.binding(id); ok {
		text += "  " + b.Label()
	}
	s.hang(lead+text, "    ")
}

// named puts a label before what it names.
func (s *speech) named(label, text string) string {
	if label == "" || text == "" {
		return label + text
	}
	return label + ": " + text
}

func (s *speech) keys(keys []Binding) {
	if len(keys) == 0 {
		return
	}
	widest := 0
	for _, b := range keys {
		widest = max(widest, runes(b.Label()))
	}
	s.blank()
	s.line("keys")
	for _, b := range keys {
		s.hang("  "+pad(b.Label(), widest)+"  "+b.Does, strings.Repeat(" ", widest+4))
	}
}

func runes(s string) int { return utf8.RuneCountInString(s) }

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-runes(s))) }

func padLeft(s string, n int) string { return strings.Repeat(" ", max(0, n-runes(s))) + s }

// spread2 writes a at the left and b at the right of a line.
func spread2(a, b string, n int) string { return pad(a, n-runes(b)-1) + " " + b }
