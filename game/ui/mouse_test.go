package ui_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

// click presses at a point of the control's box, counted from its corner.
func (d *desk) click(t *testing.T, id string, dx, dy float64) ui.Action {
	t.Helper()
	for _, b := range d.frame().Boxes {
		if b.ID == id {
			return d.do(ui.Event{Kind: ui.Press, At: ui.Point{X: b.Rect.X + dx, Y: b.Rect.Y + dy}})
		}
	}
	t.Fatalf("no %q on the page", id)
	return ui.Action{}
}

// TestClicksInside presses parts of controls. Sizes are those of text scale 1:
// a label line is 24 px, a row 32 px, a list's edge 4 px, a table's titles 28 px.
func TestClicksInside(t *testing.T) {
	rows := make([]ui.ListRow, 40)
	list := ui.List{ID: "x", Label: "list", Rows: rows, Chosen: 2}
	table := ui.Table{ID: "x", Columns: []ui.TableColumn{{Title: "a"}}, Rows: [][]string{{"1"}, {"2"}, {"3"}}, Chosen: 0}
	choice := ui.Choice{ID: "x", Options: []ui.Option{{ID: "a", Label: "aaaa"}, {ID: "b", Label: "bbbb"}}, Chosen: 0}
	bands := ui.Ruler{ID: "x", Scale: uitest.Frequency(), Bands: []ui.Band{{Lo: 20, Hi: 200}, {Lo: 200, Hi: 2000}, {Lo: 2000, Hi: 20000}}}
	for _, c := range []struct {
		item   ui.Item
		dx, dy float64
		want   ui.Action
	}{
		{list, 50, 24 + 4 + 32*4 + 16, ui.Action{Kind: ui.Changed, ID: "x", Index: 4}},
		{list, 50, 24 + 4 + 32*2 + 16, ui.Action{Kind: ui.Submit, ID: "x", Index: 2}},
		{list, 50, 10, ui.Action{}}, // on the label
		{table, 50, 28 + 32*2 + 16, ui.Action{Kind: ui.Changed, ID: "x", Index: 2}},
		{table, 50, 10, ui.Action{}}, // on the titles
		{choice, 100, 20, ui.Action{Kind: ui.Changed, ID: "x", Index: 1, Text: "b"}},
		{choice, 10, 20, ui.Action{}}, // on the one that holds
		{bands, 836 / 2, 60, ui.Action{Kind: ui.Changed, ID: "x", Index: 1, Value: math.Sqrt(200 * 2000)}},
	} {
		got := on(c.item).click(t, "x", c.dx, c.dy)
		if math.Abs(got.Value-c.want.Value) < 1e-6 {
			got.Value = c.want.Value
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%T at %g, %g: %+v, want %+v", c.item, c.dx, c.dy, got, c.want)
		}
	}
}

// TestCaretFollowsTheMouse: characters are 8.8 px wide and begin 8 px from the edge.
func TestCaretFollowsTheMouse(t *testing.T) {
	for dx, want := range map[float64]string{0: "|abcd", 8 + 8.8*2 + 1: "ab|cd", 8 + 8.8*2 - 5: "a|bcd", 700: "abcd|"} {
		d := on(ui.Field{ID: "f", Value: "abcd"})
		d.click(t, "f", dx, 20)
		if got := d.keys("|").Text; got != want {
			t.Errorf("pressed at %g and typed: %q, want %q", dx, got, want)
		}
	}
}

func TestPageScrollsByKey(t *testing.T) {
	var items []ui.Item
	for _, id := range strings.Fields("a b c d e f g h i j k l m n o p") {
		items = append(items, ui.Button{ID: id, Label: id})
	}
	d := on(items...)
	d.keys("down down up")
	if got := d.state.Scroll["page"]; got != 48 {
		t.Errorf("scrolled by %g, want 48", got)
	}
	d.keys("end")
	most := d.state.Scroll["page"]
	if d.keys("pagedown"); d.state.Scroll["page"] != most || most < 100 {
		t.Errorf("End scrolled to %g, and Page Down on to %g", most, d.state.Scroll["page"])
	}
	d.keys("home shift+tab")
	if got := d.frame().Focus(); got != "p" {
		t.Errorf("Shift Tab without focus goes to %q, want the last one", got)
	}
	if d.state.Scroll["page"] == 0 {
		t.Error("the page does not follow the focus")
	}
}

func TestLongDialogueScrolls(t *testing.T) {
	d := on(ui.Button{ID: "b", Label: "b"})
	d.page.Dialogue = &ui.Dialogue{
		Title: "Long", Text: strings.Repeat("A sentence that goes on. ", 200),
		Buttons: []ui.Button{{ID: "ok", Label: "All right"}}, Cancel: "ok",
	}
	d.do(ui.Event{Kind: ui.Wheel, At: ui.Point{X: 450, Y: 300}, Notches: -3})
	if got := d.state.Scroll["dialogue"]; got == 0 {
		t.Error("the wheel does not scroll the dialogue")
	}
	d.keys("tab")
	for _, b := range d.frame().Boxes {
		if b.ID == "ok" && !b.Rect.Within(b.Clip) {
			t.Errorf("the button has the keyboard, and only %v of %v can be seen", b.Visible(), b.Rect)
		}
	}
}
