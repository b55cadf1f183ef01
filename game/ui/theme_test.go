package ui_test

import (
	"image/color"
	"math"
	"testing"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

// TestContrastFormula: WCAG 2.2 says that ratios go from 1 to 21; #767676 on
// white is the lightest grey that passes 4.5 : 1 there (W3C, Understanding
// SC 1.4.3, from memory).
func TestContrastFormula(t *testing.T) {
	grey := func(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }
	if got := ui.Contrast(grey(0), grey(255)); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %g, want 21", got)
	}
	if got := ui.Contrast(grey(90), grey(90)); got != 1 {
		t.Errorf("a colour on itself is %g, want 1", got)
	}
	if at, above := ui.Contrast(grey(0x76), grey(255)), ui.Contrast(grey(0x77), grey(255)); at < 4.5 || above >= 4.5 {
		t.Errorf("#767676 is %g and #777777 %g, want 4.5 between them", at, above)
	}
}

// TestThemesPassAA: text 4.5 : 1 (SC 1.4.3), graphics 3 : 1 (SC 1.4.11).
func TestThemesPassAA(t *testing.T) {
	for name, theme := range themes {
		for _, text := range []ui.Token{ui.Ink, ui.SoftInk, ui.Oxblood, ui.Brass} {
			for _, on := range []ui.Token{ui.Sheet, ui.Ground} {
				if got := ui.Contrast(theme[text], theme[on]); got < 4.5 {
					t.Errorf("%s: %v on %v is %.2f", name, text, on, got)
				}
			}
		}
		for _, data := range []ui.Token{ui.Data1, ui.Data2, ui.Data3} {
			if got := ui.Contrast(theme[data], theme[ui.Sheet]); got < 3 {
				t.Errorf("%s: %v on sheet is %.2f", name, data, got)
			}
		}
	}
}

var themes = map[string]ui.Theme{"day": ui.Day, "night": ui.Night}

// TestWhatIsDrawnPassesAA goes through what the gallery draws, finds what lies
// under each stroke, sign and text, and holds the pair to WCAG. Rule only
// decorates; Sheet and Ground, as fills, are what others lie on.
func TestWhatIsDrawnPassesAA(t *testing.T) {
	for _, v := range uitest.Sizes() {
		for _, p := range uitest.Gallery() {
			commands := lay(p, v).Commands
			for i, c := range commands {
				surface := c.Op == ui.Fill && (c.Ink == ui.Sheet || c.Ink == ui.Ground)
				if c.Ink == ui.Rule || surface {
					continue
				}
				least := 3.0
				if c.Op == ui.Label {
					least = 4.5
				}
				on := under(commands[:i], middle(sample(c)))
				for name, theme := range themes {
					if got := ui.Contrast(theme[c.Ink], theme[on]); on != c.Ink && got < least {
						t.Errorf("%s, %s: %v on %v is %.2f (%q)", p.Name, name, c.Ink, on, got, c.Text)
					}
				}
			}
		}
	}
}

// sample is the part of a command's path that stands for it: all of an
// outline, one stretch of a line.
func sample(c ui.Command) []ui.Point {
	if c.Op == ui.Fill || len(c.Path) < 2 {
		return c.Path
	}
	i := (len(c.Path) - 1) / 2
	return c.Path[i : i+2]
}

func middle(path []ui.Point) ui.Point {
	var sum ui.Point
	for _, p := range path {
		sum.X += p.X / float64(len(path))
		sum.Y += p.Y / float64(len(path))
	}
	return sum
}

// under is the ink of the last fill that covers a point.
func under(commands []ui.Command, at ui.Point) ui.Token {
	on := ui.Ground
	for _, c := range commands {
		if c.Op == ui.Fill && c.Clip.Has(at) && covers(c.Path, at) {
			on = c.Ink
		}
	}
	return on
}

// covers counts the edges to the right of a point: an odd number is inside.
func covers(path []ui.Point, at ui.Point) bool {
	inside := false
	for i, p := range path {
		q := path[(i+1)%len(path)]
		if (p.Y > at.Y) != (q.Y > at.Y) && at.X < p.X+(at.Y-p.Y)/(q.Y-p.Y)*(q.X-p.X) {
			inside = !inside
		}
	}
	return inside
}
