package ui

// Stack lays items over each other, the first at the back.
type Stack struct{ Items []Item }

func (st Stack) width(p *pass) float64 { return Column{Items: st.Items}.width(p) }
func (st Stack) say(s *speech)         { Column{Items: st.Items}.say(s) }
func (st Stack) height(p *pass, w float64) float64 {
	h := 0.0
	for _, it := range st.Items {
		h = max(h, it.height(p, w))
	}
	return h
}

func (st Stack) draw(p *pass, r Rect) {
	for _, it := range st.Items {
		p.place(it, r)
	}
}
