package ui_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

// desk is a page with its state, as the window holds them.
type desk struct {
	page  ui.Page
	state ui.State
}

func (d *desk) frame() *ui.Frame {
	return ui.Layout(d.page, uitest.Sizes()[0], d.state, uitest.Fixed{})
}

func (d *desk) do(e ui.Event) ui.Action {
	var a ui.Action
	d.state, a = d.frame().Handle(e)
	return a
}

// keys sends keys, separated by blanks: names as they are, "_" for Space, and
// one character as typed. It returns the last action.
func (d *desk) keys(keys string) (a ui.Action) {
	for k := range strings.FieldsSeq(keys) {
		e := ui.Event{Kind: ui.KeyDown, Key: ui.Key(k)}
		if len(k) == 1 {
			e = ui.Event{Kind: ui.Typed, Text: strings.ReplaceAll(k, "_", " ")}
		}
		a = d.do(e)
	}
	return a
}

func on(items ...ui.Item) *desk {
	return &desk{page: ui.Page{Name: "test", Body: ui.Column{Items: items}}}
}

var steps = ui.Scale{Min: 0, Max: 10, Step: 1, Coarse: 4}

// TestEveryControlByKeyboard starts each time without focus: the first Tab finds the control.
func TestEveryControlByKeyboard(t *testing.T) {
	quarter := uitest.Frequency()
	bands := ui.Ruler{ID: "r", Scale: quarter, Bands: []ui.Band{{Lo: 20, Hi: 200}, {Lo: 200, Hi: 2000}, {Lo: 2000, Hi: 20000}}}
	set := bands
	set.Value, set.Set = 300, true
	free := ui.Ruler{ID: "r", Scale: quarter, Value: 1000, Set: true, Accepts: "0123456789.k"}
	typing := free
	typing.Entry = "2"
	list := ui.List{ID: "l", Rows: make([]ui.ListRow, 40), Chosen: 3}
	table := ui.Table{ID: "t", Columns: []ui.TableColumn{{}}, Rows: [][]string{{""}, {""}, {""}}, Chosen: 1}
	wave := ui.Waveform{ID: "w", Scale: steps, Lo: 2, Hi: 4}
	slider := ui.Slider{ID: "s", Scale: steps, Value: 5}
	field := ui.Field{ID: "f", Value: "aé"}
	choice := ui.Choice{ID: "c", Options: []ui.Option{{ID: "x"}, {ID: "y"}, {ID: "z"}}, Chosen: 1}
	for _, c := range []struct {
		item ui.Item
		keys string
		want ui.Action
	}{
		{ui.Button{ID: "b", Label: "b"}, "enter", ui.Action{Kind: ui.Pressed, ID: "b"}},
		{ui.Button{ID: "b", Label: "b"}, "_", ui.Action{Kind: ui.Pressed, ID: "b"}},
		{ui.Button{ID: "b", Label: "b", Off: "no"}, "enter", ui.Action{}},
		{choice, "right", ui.Action{Kind: ui.Changed, ID: "c", Index: 2, Text: "z"}},
		{choice, "up", ui.Action{Kind: ui.Changed, ID: "c", Index: 0, Text: "x"}},
		{field, "b", ui.Action{Kind: ui.Changed, ID: "f", Text: "aéb"}},
		{field, "_", ui.Action{Kind: ui.Changed, ID: "f", Text: "aé "}},
		{field, "left b", ui.Action{Kind: ui.Changed, ID: "f", Text: "abé"}},
		{field, "home b", ui.Action{Kind: ui.Changed, ID: "f", Text: "baé"}},
		{field, "backspace", ui.Action{Kind: ui.Changed, ID: "f", Text: "a"}},
		{field, "home delete", ui.Action{Kind: ui.Changed, ID: "f", Text: "é"}},
		{field, "home backspace", ui.Action{}},
		{field, "enter", ui.Action{Kind: ui.Submit, ID: "f", Text: "aé"}},
		{slider, "right", ui.Action{Kind: ui.Changed, ID: "s", Value: 6}},
		{slider, "shift+left", ui.Action{Kind: ui.Changed, ID: "s", Value: 1}},
		{slider, "pageup", ui.Action{Kind: ui.Changed, ID: "s", Value: 9}},
		{slider, "home", ui.Action{Kind: ui.Changed, ID: "s", Value: 0}},
		{slider, "end", ui.Action{Kind: ui.Changed, ID: "s", Value: 10}},
		{list, "down", ui.Action{Kind: ui.Changed, ID: "l", Index: 4}},
		{list, "end", ui.Action{Kind: ui.Changed, ID: "l", Index: 39}},
		{list, "enter", ui.Action{Kind: ui.Submit, ID: "l", Index: 3}},
		{table, "up", ui.Action{Kind: ui.Changed, ID: "t", Index: 0}},
		{table, "pagedown", ui.Action{Kind: ui.Changed, ID: "t", Index: 2}},
		{free, "end", ui.Action{Kind: ui.Changed, ID: "r", Value: 20000, Index: -1}},
		{free, "right", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000 * math.Pow(2, 1.0/24), Index: -1}},
		{free, "shift+right", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000 * math.Pow(math.Pow(2, 1.0/24), 8), Index: -1}},
		{free, "2", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000, Index: -1, Text: "2"}},
		{free, "k", ui.Action{}},
		{typing, "k", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000, Index: -1, Text: "2k"}},
		{typing, "backspace", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000, Index: -1}},
		{typing, "escape", ui.Action{Kind: ui.Changed, ID: "r", Value: 1000, Index: -1}},
		{typing, "enter", ui.Action{Kind: ui.Submit, ID: "r", Value: 1000, Index: -1, Text: "2"}},
		{bands, "right", ui.Action{Kind: ui.Changed, ID: "r", Value: math.Sqrt(200 * 2000), Index: 1}},
		{set, "left", ui.Action{Kind: ui.Changed, ID: "r", Value: math.Sqrt(20 * 200), Index: 0}},
		{set, "end", ui.Action{Kind: ui.Changed, ID: "r", Value: math.Sqrt(2000 * 20000), Index: 2}},
		{wave, "right", ui.Action{Kind: ui.Changed, ID: "w", Lo: 3, Hi: 5}},
		{wave, "end", ui.Action{Kind: ui.Changed, ID: "w", Lo: 8, Hi: 10}},
		{wave, "shift+right", ui.Action{Kind: ui.Changed, ID: "w", Lo: 2, Hi: 5}},
		{wave, "enter", ui.Action{Kind: ui.Submit, ID: "w", Lo: 2, Hi: 4}},
	} {
		got := on(c.item).keys("tab " + c.keys)
		if near := math.Abs(got.Value-c.want.Value) < 1e-9*(1+math.Abs(got.Value)); near {
			got.Value = c.want.Value
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%T, keys %q: %+v, want %+v", c.item, c.keys, got, c.want)
		}
	}
}

func TestBindings(t *testing.T) {
	d := &desk{page: uitest.Answering()}
	for keys, want := range map[string]ui.Action{
		"_":     {Kind: ui.Pressed, ID: "play"},
		"N":     {Kind: ui.Pressed, ID: "nothing"},
		"u":     {Kind: ui.Changed, ID: "side", Index: 0, Text: "untouched"},
		"?":     {Kind: ui.Pressed, ID: "help"}, // no such item: the action alone
		"x":     {},
		"enter": {Kind: ui.Submit, ID: "ruler", Value: 2500, Index: -1},
	} {
		if got := d.keys(keys); !reflect.DeepEqual(got, want) {
			t.Errorf("key %q: %+v, want %+v", keys, got, want)
		}
	}
	d = &desk{page: uitest.Material()}
	d.keys("/")
	if got := d.frame().Focus(); got != "search" {
		t.Errorf("a key bound to a field gives the keyboard to %q", got)
	}
	if got := d.keys("/"); got.Text != "/" {
		t.Errorf("in the field the key types: %+v", got)
	}
}

func TestDialogueTakesTheKeys(t *testing.T) {
	page := uitest.Gallery()[6]
	d := &desk{page: page}
	if got := d.keys("n"); got.Kind != ui.Nothing {
		t.Errorf("a key reached the page behind: %+v", got)
	}
	if got := d.keys("escape"); got.ID != "stay" || got.Kind != ui.Pressed {
		t.Errorf("Escape: %+v", got)
	}
	if got := d.keys("tab enter"); got.ID != "leave" {
		t.Errorf("Tab, Enter: %+v", got)
	}
	if got := d.frame().At(ui.Point{X: 60, Y: 150}); got != "" {
		t.Errorf("the mouse reaches %q behind the dialogue", got)
	}
	d.page.Dialogue = nil
	if got := d.frame().Focus(); got != "ruler" {
		t.Errorf("afterwards %q has the keyboard, want what had it before", got)
	}
}

// centre is the middle of a control's box, or a part of the way along it.
func (d *desk) along(t *testing.T, id string, part float64) ui.Point {
	t.Helper()
	for _, b := range d.frame().Boxes {
		if b.ID == id {
			return ui.Point{X: b.Rect.X + part*b.Rect.W, Y: b.Rect.Y + b.Rect.H/2}
		}
	}
	t.Fatalf("no %q on the page", id)
	return ui.Point{}
}

func TestMouse(t *testing.T) {
	d := on(ui.Button{ID: "b", Label: "b"}, ui.Slider{ID: "s", Scale: steps, Value: 1}, ui.Waveform{ID: "w", Scale: steps},
		ui.List{ID: "l", Rows: make([]ui.ListRow, 40), Chosen: -1})
	b := d.along(t, "b", 0.5)
	if a := d.do(ui.Event{Kind: ui.Press, At: b}); a.Kind != ui.Nothing {
		t.Errorf("a button acts before it is let go: %+v", a)
	}
	if a := d.do(ui.Event{Kind: ui.Release, At: b}); a.ID != "b" || a.Kind != ui.Pressed {
		t.Errorf("click: %+v", a)
	}
	d.do(ui.Event{Kind: ui.Press, At: b})
	if a := d.do(ui.Event{Kind: ui.Release, At: ui.Point{}}); a.Kind != ui.Nothing {
		t.Errorf("let go elsewhere: %+v", a)
	}
	if a := d.do(ui.Event{Kind: ui.Press, At: d.along(t, "s", 0.5)}); a.Value != 5 {
		t.Errorf("slider pressed in the middle: %+v", a)
	}
	if a := d.do(ui.Event{Kind: ui.Move, At: ui.Point{X: 5000}}); a.Value != 10 {
		t.Errorf("slider dragged beyond its end: %+v", a)
	}
	d.do(ui.Event{Kind: ui.Release})
	if a := d.do(ui.Event{Kind: ui.Wheel, At: d.along(t, "s", 0.5), Notches: 2}); a.Value != 3 {
		t.Errorf("wheel on the focused slider: %+v", a)
	}
	d.do(ui.Event{Kind: ui.Press, At: d.along(t, "w", 0.8)})
	if a := d.do(ui.Event{Kind: ui.Move, At: d.along(t, "w", 0.3)}); a.Lo != 3 || a.Hi != 8 {
		t.Errorf("loop drawn from right to left: %+v", a)
	}
}

func TestWheelScrolls(t *testing.T) {
	d := on(ui.List{ID: "l", Rows: make([]ui.ListRow, 40), Chosen: -1}, ui.Slider{ID: "s", Scale: steps, Value: 1})
	at := d.along(t, "l", 0.5)
	d.do(ui.Event{Kind: ui.Wheel, At: at, Notches: -1})
	if got := d.state.Scroll["l"]; got != 48 {
		t.Errorf("scrolled by %g, want 48", got)
	}
	if a := d.do(ui.Event{Kind: ui.Wheel, At: d.along(t, "s", 0.5), Notches: 1}); a.Kind != ui.Nothing {
		t.Errorf("the wheel turns a slider that has not the keyboard: %+v", a)
	}
	d.keys("tab end")
	if got, most := d.state.Scroll["l"], 39*32.0-300; got < most {
		t.Errorf("the last row was chosen and the list scrolled to %g only", got)
	}
}

func TestScrollByKeyAndBar(t *testing.T) {
	d := on(ui.Button{ID: "b", Label: "b"}, ui.Scroll{ID: "text", HeightPx: 100, Item: ui.Text{Text: strings.Repeat("line\n", 30)}})
	d.keys("tab tab down")
	if got := d.state.Scroll["text"]; got != 48 {
		t.Errorf("an arrow key scrolls by %g, want 48", got)
	}
	d.keys("end")
	most := d.state.Scroll["text"]
	if want := 31*24.0 - 100; most != want { // 31 lines of 24 px in a window of 100
		t.Errorf("End scrolls to %g, want %g", most, want)
	}
	bar := d.along(t, "text", 1)
	bar.X -= 4
	d.do(ui.Event{Kind: ui.Press, At: bar})
	if got := d.state.Scroll["text"]; math.Abs(got-most/2) > 1 {
		t.Errorf("the bar pressed in the middle scrolls to %g, want %g", got, most/2)
	}
	d.do(ui.Event{Kind: ui.Move, At: ui.Point{X: bar.X, Y: 0}})
	if got := d.state.Scroll["text"]; got != 0 {
		t.Errorf("the bar dragged to the top scrolls to %g", got)
	}
	d.do(ui.Event{Kind: ui.Release, At: bar})
	d.do(ui.Event{Kind: ui.Move, At: bar})
	if got := d.state.Scroll["text"]; got != 0 {
		t.Error("the bar follows the pointer after it was let go")
	}
}

func TestRulerByMouseIsExact(t *testing.T) {
	for _, hz := range []float64{20, 200, 1000, 20000} {
		d := on(ui.Ruler{ID: "r", Scale: uitest.Frequency(), Off: false})
		box := d.frame().Boxes
		r := box[len(box)-2].Rect // before the last Space
		x := r.X + 16 + (r.W-32)*math.Log(hz/20)/math.Log(1000)
		a := d.do(ui.Event{Kind: ui.Press, At: ui.Point{X: x, Y: r.Y + r.H/2}})
		if math.Abs(a.Value/hz-1) > 1e-9 {
			t.Errorf("pressed at %g Hz, answers %g", hz, a.Value)
		}
	}
}

func TestTipsByPointerAndKey(t *testing.T) {
	d := on(ui.Choice{ID: "c", Options: []ui.Option{{Label: "x"}}, Tip: "what it is for"})
	shows := func() bool {
		for _, c := range d.frame().Commands {
			if c.Text == "what it is for" {
				return true
			}
		}
		return false
	}
	d.do(ui.Event{Kind: ui.Move, At: d.along(t, "c", 0.01)})
	d.do(ui.Event{Kind: ui.Rest})
	if !shows() {
		t.Error("no tooltip where the pointer rests")
	}
	d.keys("escape")
	if shows() {
		t.Error("Escape does not close the tooltip")
	}
	d.keys("tab f1")
	if !shows() {
		t.Error("no tooltip for F1")
	}
}

func TestDropAndNewPage(t *testing.T) {
	d := on(ui.Button{ID: "b", Label: "b"})
	if a := d.do(ui.Event{Kind: ui.Drop, Paths: []string{"/a.wav"}}); a.Kind != ui.Dropped || a.Paths[0] != "/a.wav" {
		t.Errorf("drop: %+v", a)
	}
	d.keys("tab")
	d.page.Name = "other"
	if got := d.frame().Focus(); got != "" {
		t.Errorf("a new page keeps the focus on %q", got)
	}
	d.page.Focus = "b"
	if got := d.frame().Focus(); got != "b" {
		t.Errorf("the page asks for b, and %q has the focus", got)
	}
}

func TestKeyLabels(t *testing.T) {
	for key, want := range map[ui.Key]string{ui.KeySpace: "Space", "r": "R", "?": "?", ui.KeyBackTab: "Shift Tab", "ctrl+s": "Ctrl S", "+": "+", "ctrl++": "Ctrl +", ui.KeyPageUp: "Page Up"} {
		if got := key.Label(); got != want {
			t.Errorf("%q is written %q, want %q", key, got, want)
		}
	}
}

func TestDashesCoverTheirShare(t *testing.T) {
	c := ui.Command{Op: ui.Stroke, Dash: ui.Dashed, Path: []ui.Point{{X: 0}, {X: 50}, {X: 130, Y: 0}}}
	drawn := 0.0
	for line := range c.Strokes() {
		drawn += line[len(line)-1].X - line[0].X
	}
	if drawn != 80 { // ten dashes of 8 with ten gaps of 5 are 130
		t.Errorf("dashes draw %g px of 130, want 80", drawn)
	}
}
