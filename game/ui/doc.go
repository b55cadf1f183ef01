// Package ui describes a screen as data and lays it out without a window.
//
// A scene makes a [Page] from its state; [Layout] places it and returns a
// [Frame]: boxes for hit-testing and focus, and a list of drawing commands
// that name theme tokens, not colours. A window draws the commands and hands
// its events to [Frame.Handle], which answers with the next [State] (focus,
// caret, scrolling) and with what the scene has to do, an [Action]:
//
//	frame := ui.Layout(scene.Page(), view, state, fonts)
//	state, action := frame.Handle(event)
//	if action.Kind != ui.Nothing {
//		scene.Do(action)
//	}
//
// Everything here is a pure function of its arguments: the same page, view,
// state and fonts give the same frame. [Page.Text] writes the same page as
// plain text. Lengths are logical pixels of 1/96 inch; the window multiplies
// them by the scale of its monitor.
package ui
