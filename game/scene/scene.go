package scene

import (
	"time"

	"strop/game/ui"
)

// Scene is one screen.
type Scene interface {
	// Page says what is shown, from the scene's state and nothing else.
	Page() ui.Page
	// Do takes what the user did.
	Do(a ui.Action)
}

// shower is a Scene that does something when it comes to the front, at first
// and after a screen over it was left.
type shower interface{ shown() }

// waiter is a Scene that wants to know when the material has changed, or
// could not be opened.
type waiter interface{ songChanged() }

// leaver is a Scene that has something to end when it is left for good.
type leaver interface{ left() }

// mover is a Scene that changes with time. move returns how long it may be
// left alone; 0: nothing moves.
type mover interface {
	move(now time.Time) time.Duration
}
