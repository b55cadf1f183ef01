package main

import (
	"io/fs"
	"os"
	"strings"
	"time"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"strop/game/ui"
)

// input makes events of what keyboard and pointer have done.
type input struct {
	seen   []ui.Event
	runes  []rune
	keys   []ebiten.Key
	at     ui.Point
	moved  time.Time  // when the pointer last did, zero once it has rested
	held   ebiten.Key // the named key that repeats
	repeat time.Time  // when it does next; zero: none is held
}

// How keys repeat and tooltips come, in the absence of the system's settings.
const (
	repeatAfter = 400 * time.Millisecond
	repeatEvery = 35 * time.Millisecond
	restAfter   = 600 * time.Millisecond
	never       = time.Hour
)

// events are what happened since the last time, scale device pixels to a
// logical one. They are good until the next call.
func (in *input) events(now time.Time, scale float64) []ui.Event {
	in.seen = in.seen[:0]
	in.pointer(now, scale)
	in.typed()
	in.named(now)
	in.lifted()
	in.dropped()
	return in.seen
}

// again is how long nothing happens by itself.
func (in *input) again(now time.Time) time.Duration {
	d := never
	if !in.repeat.IsZero() {
		d = min(d, in.repeat.Sub(now))
	}
	if !in.moved.IsZero() {
		d = min(d, in.moved.Add(restAfter).Sub(now))
	}
	return max(d, time.Millisecond)
}

func (in *input) add(e ui.Event) { in.seen = append(in.seen, e) }

func (in *input) pointer(now time.Time, scale float64) {
	x, y := ebiten.CursorPosition()
	at := ui.Point{X: float64(x) / scale, Y: float64(y) / scale}
	if at != in.at {
		in.at, in.moved = at, now
		in.add(ui.Event{Kind: ui.Move, At: at})
	}
	if inpututil.IsMouseButtonJustPressed(ebiten.MouseButtonLeft) {
		in.add(ui.Event{Kind: ui.Press, At: at})
	}
	if inpututil.IsMouseButtonJustReleased(ebiten.MouseButtonLeft) {
		in.add(ui.Event{Kind: ui.Release, At: at})
	}
	if _, notches := ebiten.Wheel(); notches != 0 {
		in.add(ui.Event{Kind: ui.Wheel, At: at, Notches: notches, Coarse: ebiten.IsKeyPressed(ebiten.KeyShift)})
	}
	if !in.moved.IsZero() && now.Sub(in.moved) >= restAfter {
		in.moved = time.Time{}
		in.add(ui.Event{Kind: ui.Rest, At: at})
	}
}

// chord reports whether a key that is held makes others type nothing. The
// right alt key does not: on many keyboards it types.
func chord() bool {
	return ebiten.IsKeyPressed(ebiten.KeyControl) || ebiten.IsKeyPressed(ebiten.KeyAltLeft) || ebiten.IsKeyPressed(ebiten.KeyMeta)
}

func (in *input) typed() {
	in.runes = ebiten.AppendInputChars(in.runes[:0])
	if chord() {
		return
	}
	for _, r := range in.runes {
		in.add(ui.Event{Kind: ui.Typed, Text: string(r)})
	}
}

// names are the keys that type nothing.
var names = map[ebiten.Key]ui.Key{
	ebiten.KeyTab: ui.KeyTab, ebiten.KeyEnter: ui.KeyEnter, ebiten.KeyNumpadEnter: ui.KeyEnter, ebiten.KeyEscape: ui.KeyEscape,
	ebiten.KeyArrowLeft: ui.KeyArrowLeft, ebiten.KeyArrowRight: ui.KeyArrowRight,
	ebiten.KeyArrowUp: ui.KeyArrowUp, ebiten.KeyArrowDown: ui.KeyArrowDown,
	ebiten.KeyHome: ui.KeyHome, ebiten.KeyEnd: ui.KeyEnd, ebiten.KeyPageUp: ui.KeyPageUp, ebiten.KeyPageDown: ui.KeyPageDown,
	ebiten.KeyBackspace: ui.KeyBackspace, ebiten.KeyDelete: ui.KeyDelete, ebiten.KeyF1: ui.KeyF1,
}

func (in *input) named(now time.Time) {
	in.keys = inpututil.AppendJustPressedKeys(in.keys[:0])
	for _, k := range in.keys {
		if name, ok := nameOf(k); ok {
			in.add(ui.Event{Kind: ui.KeyDown, Key: name})
			in.held, in.repeat = k, now.Add(repeatAfter)
		}
	}
	if in.repeat.IsZero() || len(in.keys) > 0 {
		return
	}
	if !ebiten.IsKeyPressed(in.held) {
		in.repeat = time.Time{}
		return
	}
	if name, ok := nameOf(in.held); ok && !now.Before(in.repeat) && repeats(name) {
		in.add(ui.Event{Kind: ui.KeyDown, Key: name})
		in.repeat = now.Add(repeatEvery)
	}
}

// lifted tells of every key that was let go.
func (in *input) lifted() {
	in.keys = inpututil.AppendJustReleasedKeys(in.keys[:0])
	for _, k := range in.keys {
		name, ok := names[k]
		if !ok {
			name = ui.Key(strings.ToLower(ebiten.KeyName(k)))
		}
		if name != "" {
			in.add(ui.Event{Kind: ui.KeyUp, Key: name})
		}
	}
}

// nameOf is a key with its modifiers, and whether it is one that types
// nothing, or nothing now.
func nameOf(k ebiten.Key) (name ui.Key, ok bool) {
	if name, ok = names[k]; !ok && chord() {
		name = ui.Key(strings.ToLower(ebiten.KeyName(k))) // "" for control and its like
		ok = name != ""
	}
	if ebiten.IsKeyPressed(ebiten.KeyShift) {
		name = name.Shift()
	}
	if ebiten.IsKeyPressed(ebiten.KeyAltLeft) {
		name = "alt+" + name
	}
	if ebiten.IsKeyPressed(ebiten.KeyControl) {
		name = "ctrl+" + name
	}
	return name, ok
}

// repeats reports whether a key may be held down to be pressed again and
// again: one that answers or leaves must not.
func repeats(name ui.Key) bool { return name != ui.KeyEnter && name != ui.KeyEscape }

// dropped is the paths of files and folders that were dropped.
func (in *input) dropped() {
	files := ebiten.DroppedFiles()
	if files == nil {
		return
	}
	entries, _ := fs.ReadDir(files, ".") // what could be read of it
	var paths []string
	for _, e := range entries {
		f, err := files.Open(e.Name())
		if err != nil {
			continue
		}
		if file, ok := f.(*os.File); ok {
			paths = append(paths, file.Name())
		}
		f.Close() // it was only asked for its name
	}
	in.add(ui.Event{Kind: ui.Drop, Paths: paths})
}
