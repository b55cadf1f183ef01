package ui

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Key is a key with its modifiers. One that types a character is that
// character, lower case ("r", "?", " "), whatever the keyboard's layout. All
// others have a name, with "ctrl+", "alt+" and "shift+" before it in this
// order: "enter", "shift+tab", "ctrl+s".
type Key string

const (
	KeySpace      Key = " "
	KeyTab        Key = "tab"
	KeyBackTab    Key = "shift+tab"
	KeyEnter      Key = "enter"
	KeyEscape     Key = "escape"
	KeyArrowLeft  Key = "left"
	KeyArrowRight Key = "right"
	KeyArrowUp    Key = "up"
	KeyArrowDown  Key = "down"
	KeyHome       Key = "home"
	KeyEnd        Key = "end"
	KeyPageUp     Key = "pageup"
	KeyPageDown   Key = "pagedown"
	KeyBackspace  Key = "backspace"
	KeyDelete     Key = "delete"
	KeyF1         Key = "f1"
)

// Shift is k with the shift key held; it is meant for named keys.
func (k Key) Shift() Key { return "shift+" + k }

var keyNames = map[Key]string{" ": "Space", "pageup": "Page Up", "pagedown": "Page Down"}

// Label is the key as written on a page, such as "Shift Tab".
func (k Key) Label() string {
	if name, ok := keyNames[k]; ok {
		return name
	}
	if i := strings.LastIndexByte(string(k[:max(0, len(k)-1)]), '+'); i > 0 {
		return k[:i].Label() + " " + k[i+1:].Label()
	}
	first, n := utf8.DecodeRuneInString(string(k))
	return string(unicode.ToUpper(first)) + string(k[n:])
}

// Binding is a line of a page's key table. Its key presses the button with
// that ID, or gives the keyboard to another control with it, or, with no such
// item on the page, sends the action alone.
type Binding struct {
	Keys []Key
	ID   string
	Does string // "play or stop"
	Held bool   // it lasts while the key is down: the scene is told of the release too
}

// Label is the keys as written on a page, such as "Left or A".
func (b Binding) Label() string {
	labels := make([]string, len(b.Keys))
	for i, k := range b.Keys {
		labels[i] = k.Label()
	}
	return strings.Join(labels, " or ")
}

func (b Binding) has(k Key) bool {
	for _, own := range b.Keys {
		if own == k {
			return true
		}
	}
	return false
}

// StandardKeys are the keys that work on every page without being bound, for help.
func StandardKeys() []Binding {
	return []Binding{
		{Keys: []Key{KeyTab, KeyBackTab}, Does: "next or previous item"},
		{Keys: []Key{KeyEnter}, Does: "press the button, take the row, give the answer"},
		{Keys: []Key{KeyArrowLeft, KeyArrowRight}, Does: "one step: slider, ruler, choice, loop"},
		{Keys: []Key{KeyArrowUp, KeyArrowDown}, Does: "one step; in a list or table the next row; else scroll"},
		{Keys: []Key{KeyPageUp, KeyPageDown}, Does: "a large step or a screenful"},
		{Keys: []Key{KeyHome, KeyEnd}, Does: "first or last"},
		{Keys: []Key{KeyArrowLeft.Shift(), KeyArrowRight.Shift()}, Does: "a large step on a ruler or slider; the end of the loop on a waveform"},
		{Keys: []Key{KeyF1}, Does: "what the item is for"},
		{Keys: []Key{KeyEscape}, Does: "close a dialogue or a tooltip, forget what was typed on a ruler"},
	}
}

// HelpTable is a key table as an item: what the help screen shows.
func HelpTable(keys []Binding) Table {
	t := Table{Label: "keys", Columns: []TableColumn{{Title: "key"}, {Title: "does"}}}
	for _, b := range keys {
		t.Rows = append(t.Rows, []string{b.Label(), b.Does})
	}
	return t
}
