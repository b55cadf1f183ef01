// Package uitest has what tests of pages need: a measurer with fixed widths,
// and pages that between them hold every item in every state.
package uitest

import "strop/game/ui"

// Fixed measures text without a font: every character is 0.55 em wide, in
// bold 0.6 em. Layouts made with it are the same on every machine.
type Fixed struct{}

var _ ui.Measurer = Fixed{}

func (Fixed) WidthPx(text string, sizePx float64, bold bool) float64 {
	em := 0.55
	if bold {
		em = 0.6
	}
	n := 0
	for range text {
		n++
	}
	return float64(n) * em * sizePx
}

// Sizes are the three windows that pages are held to: the smallest that is
// promised, the same with text at 200 %, and a large one.
func Sizes() []ui.View {
	return []ui.View{
		{WidthPx: 900, HeightPx: 600, TextScale: 1},
		{WidthPx: 900, HeightPx: 600, TextScale: 2},
		{WidthPx: 1440, HeightPx: 900, TextScale: 1},
	}
}
