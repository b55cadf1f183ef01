package ui

// Space is nothing, Px wide in a Row and high in a Column.
type Space struct{ Px float64 }

func (sp Space) width(*pass) float64           { return sp.Px }
func (sp Space) height(*pass, float64) float64 { return sp.Px }
func (sp Space) draw(*pass, Rect)              {}
func (sp Space) say(*speech)                   {}

// Divider is a thin line across a Column.
type Divider struct{}

func (Divider) width(*pass) float64           { return 0 }
func (Divider) height(*pass, float64) float64 { return 1 }
func (Divider) draw(p *pass, r Rect)          { p.across(r.X, r.Right(), r.Y, Rule) }
func (Divider) say(s *speech)                 { s.blank() }
