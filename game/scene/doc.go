// Package scene holds the screens of the daily drill as state machines: what
// each shows, as a [ui.Page], and what it does with what the user did. It
// draws nothing, opens nothing and plays nothing; a [World] does, through the
// interface that stands beside the screen that uses it.
//
// A [Stage] shows one screen over those that opened it. Everything on it
// happens on one goroutine. Work that takes time runs beside it, and comes
// back as a message that the next [Stage.Tick] delivers:
//
//	stage.Tick(now)            // messages, and whatever moves by itself
//	page := stage.Page()       // what to show
//	stage.Do(action)           // what the user did
package scene
