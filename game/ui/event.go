package ui

// EventKind says what happened.
type EventKind uint8

const (
	KeyDown EventKind = iota // Key: one that types nothing, or has ctrl or alt; also when it repeats
	Typed                    // Text: what the keyboard or the clipboard wrote
	Press                    // At: the mouse button, or a finger, went down
	Release                  // At
	Move                     // At
	Rest                     // the pointer has been still for a moment
	Wheel                    // At, Notches
	Drop                     // Paths
	KeyUp                    // Key: one that was down, without modifiers
)

// Event is something that the window saw.
type Event struct {
	Kind    EventKind
	Key     Key
	Text    string
	At      Point
	Notches float64 // away from the hand is positive
	Coarse  bool    // shift held with the wheel
	Paths   []string
}

// ActionKind says what the scene has to do.
type ActionKind uint8

const (
	Nothing  ActionKind = iota
	Pressed             // ID: a button, a bound key, or a dialogue that was left
	Changed             // ID and the new Value, Index, Text, or Lo and Hi; the scene may refuse it
	Submit              // as Changed, and meant: Enter, or a row pressed twice
	Dropped             // Paths
	Released            // ID: the key of a binding that is held was let go
)

// Action is what the user wants of the scene.
type Action struct {
	Kind   ActionKind
	ID     string
	Value  float64 // slider, ruler
	Index  int     // choice, list, table; ruler with bands
	Text   string  // field; ruler: what was typed, for the scene to read as a number
	Lo, Hi float64 // waveform
	Paths  []string
}
