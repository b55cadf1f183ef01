package ui_test

import (
	"fmt"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

// A scene makes pages and does what actions say; the window passes events on.
func Example() {
	levelDB := -30.0
	page := func() ui.Page {
		return ui.Page{
			Name: "level", Title: "Level", Question: "How loud should it be?", Focus: "level",
			Body: ui.Column{Items: []ui.Item{
				ui.Slider{ID: "level", Label: "level", Scale: ui.Scale{Min: -60, Max: 0, Step: 0.5}, Value: levelDB, ValueText: fmt.Sprintf("%g dB", levelDB)},
				ui.Button{ID: "done", Label: "Leave it there", Primary: true},
			}},
			Keys: []ui.Binding{{Keys: []ui.Key{"d"}, ID: "done", Does: "leave it there"}},
		}
	}
	view := ui.View{WidthPx: 900, HeightPx: 600, TextScale: 1}
	var state ui.State
	for _, e := range []ui.Event{{Kind: ui.KeyDown, Key: ui.KeyArrowRight}, {Kind: ui.Typed, Text: "d"}} {
		frame := ui.Layout(page(), view, state, uitest.Fixed{})
		var action ui.Action
		state, action = frame.Handle(e)
		switch {
		case action.Kind == ui.Changed && action.ID == "level":
			levelDB = action.Value
		case action.Kind == ui.Pressed && action.ID == "done":
			fmt.Printf("left at %g dB\n\n", levelDB)
		}
	}
	fmt.Print(page().Text(40))
	// Output:
	// left at -29.5 dB
	//
	// Level
	// ----------------------------------------
	// How loud should it be?
	//
	// > level: -29.5 dB
	//   [Leave it there]  D
	//
	// keys
	//   D  leave it there
}
