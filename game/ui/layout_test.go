package ui_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"strop/game/ui"
	"strop/game/ui/uitest"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; run with -update and read the difference. Got:\n%s", name, got)
	}
}

func lay(p ui.Page, v ui.View) *ui.Frame { return ui.Layout(p, v, ui.State{}, uitest.Fixed{}) }

func TestGoldenPages(t *testing.T) {
	for _, p := range uitest.Gallery() {
		for i, widthN := range []int{60, 80, 120} {
			golden(t, p.Name+"-"+strconv.Itoa(widthN)+".txt", p.Text(widthN))
			v := uitest.Sizes()[i]
			golden(t, fmt.Sprintf("%s-%gx%g-text%g.layout", p.Name, v.WidthPx, v.HeightPx, v.TextScale), lay(p, v).Outline())
		}
	}
}

func TestTextStaysWithinItsWidth(t *testing.T) {
	for _, p := range uitest.Gallery() {
		for i, line := range strings.Split(p.Text(60), "\n") {
			if n := len([]rune(line)); n > 60 {
				t.Errorf("%s, line %d is %d wide: %s", p.Name, i+1, n, line)
			}
		}
	}
}

// views draws a window from the smallest promised one upwards.
func views() *rapid.Generator[ui.View] {
	return rapid.Custom(func(t *rapid.T) ui.View {
		return ui.View{
			WidthPx:   float64(rapid.IntRange(900, 2000).Draw(t, "width")),
			HeightPx:  float64(rapid.IntRange(600, 1400).Draw(t, "height")),
			TextScale: rapid.Float64Range(1, 2).Draw(t, "text scale"),
		}
	})
}

// trees draws an item of any kind, arranged in any way. Each control gets its own ID.
func trees(t *rapid.T, depth int, n *int) ui.Item {
	kind := rapid.IntRange(0, 13).Draw(t, "kind")
	if depth == 0 {
		kind = rapid.IntRange(4, 13).Draw(t, "leaf")
	}
	children := func() []ui.Item {
		items := make([]ui.Item, rapid.IntRange(0, 4).Draw(t, "children"))
		for i := range items {
			items[i] = trees(t, depth-1, n)
			if rapid.Bool().Draw(t, "grow") {
				items[i] = ui.Grow{Item: items[i]}
			}
		}
		return items
	}
	gap := ui.Gap(rapid.IntRange(0, 3).Draw(t, "gap"))
	*n++
	id := "item" + strconv.Itoa(*n)
	words := strings.Repeat("word ", rapid.IntRange(0, 12).Draw(t, "words"))
	switch kind {
	case 0:
		return ui.Column{Items: children(), Gap: gap}
	case 1:
		return ui.Row{Items: children(), Gap: gap, Stretch: rapid.Bool().Draw(t, "stretch")}
	case 2:
		return ui.Panel{Title: words, Item: trees(t, depth-1, n)}
	case 3:
		return ui.Scroll{ID: id, Item: trees(t, depth-1, n), HeightPx: 120}
	case 4:
		return ui.Text{Text: words}
	case 5:
		return ui.Button{ID: id, Label: "press " + words, Mark: ui.Play}
	case 6:
		return ui.Choice{ID: id, Label: words, Options: []ui.Option{{Label: "one"}, {Label: "another"}, {Label: words + "x"}}}
	case 7:
		return ui.Field{ID: id, Label: "field", Value: words, Problem: words}
	case 8:
		return ui.Slider{ID: id, Label: words, Scale: ui.Scale{Max: 1, Ticks: []ui.Tick{{Value: 0, Label: "0"}}}}
	case 9:
		return ui.List{ID: id, Rows: make([]ui.ListRow, 20), Show: 3}
	case 10:
		return ui.Table{ID: id, Columns: []ui.TableColumn{{Title: "a"}, {Title: words}}, Rows: [][]string{{"1", words}, {words, "2"}}}
	case 11:
		return ui.Ruler{ID: id, Scale: uitest.Frequency(), Problem: words}
	case 12:
		return ui.Waveform{ID: id, Scale: ui.Scale{Max: 10}}
	}
	return ui.Note{Text: words, Problem: true}
}

func scrolls(b ui.Box) bool { return b.Kind() == "Scroll" }

// TestNothingSpillsOrOverlaps: an item lies within its parent, scrolled
// content aside, and neighbours in a Row or Column share no point.
func TestNothingSpillsOrOverlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 0
		f := lay(ui.Page{Body: trees(t, 3, &n), Question: "What was it?"}, views().Draw(t, "view"))
		for i, b := range f.Boxes {
			if b.Parent < 0 || scrolls(f.Boxes[b.Parent]) {
				continue
			}
			parent := f.Boxes[b.Parent]
			if !b.Rect.Within(parent.Rect) {
				t.Fatalf("%s %v lies outside its %s %v\n%s", b.Kind(), b.Rect, parent.Kind(), parent.Rect, f.Outline())
			}
			if parent.Kind() == "Stack" {
				continue
			}
			for _, c := range f.Boxes[:i] {
				if c.Parent == b.Parent && !c.Rect.Inset(0.01).Meet(b.Rect.Inset(0.01)).Empty() {
					t.Fatalf("%s %v overlaps %s %v\n%s", b.Kind(), b.Rect, c.Kind(), c.Rect, f.Outline())
				}
			}
		}
	})
}

// TestTabReachesAllAndShowsIt: at any size, Tab goes through every control
// once, in reading order, and each is in sight and under the mouse when it
// has the keyboard.
func TestTabReachesAllAndShowsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 0
		p := ui.Page{Body: trees(t, 3, &n)}
		f := lay(p, views().Draw(t, "view"))
		checkTab(t, p, f)
	})
	for _, v := range uitest.Sizes() {
		for _, p := range uitest.Gallery() {
			p.Focus = ""
			checkTab(t, p, lay(p, v))
		}
	}
}

type failer interface{ Fatalf(string, ...any) }

func checkTab(t failer, p ui.Page, f *ui.Frame) {
	order := f.Order()
	start := f.Focus()
	for i := range order {
		s, _ := f.Handle(ui.Event{Kind: ui.KeyDown, Key: ui.KeyTab})
		f = ui.Layout(p, f.View(), s, uitest.Fixed{})
		want := order[i]
		if start != "" { // a dialogue's first button has it already
			want = order[(i+1)%len(order)]
		}
		if f.Focus() != want {
			t.Fatalf("%s: Tab %d is at %q, want %q", p.Name, i, f.Focus(), want)
		}
		for _, b := range f.Boxes {
			if b.ID != want {
				continue
			}
			r := b.Visible()
			if r.Empty() {
				t.Fatalf("%s: %s has the keyboard out of sight\n%s", p.Name, want, f.Outline())
			}
			if scrolls(b) { // the mouse finds what lies in it
				continue
			}
			if id := f.At(ui.Point{X: r.X + r.W/2, Y: r.Y + r.H/2}); id != want {
				t.Fatalf("%s: over %s the mouse finds %q", p.Name, want, id)
			}
		}
	}
}

// TestFocusOrderIsReadingOrder: from one control to the next it goes right on
// a line, or down, never up past a whole item or back to the left on a line.
func TestFocusOrderIsReadingOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := make([]ui.Item, rapid.IntRange(1, 12).Draw(t, "items"))
		for i := range items {
			items[i] = ui.Button{ID: strconv.Itoa(i), Label: strings.Repeat("x", rapid.IntRange(1, 40).Draw(t, "label"))}
		}
		f := lay(ui.Page{Body: ui.Row{Items: items}}, views().Draw(t, "view"))
		var before ui.Box
		for _, b := range f.Boxes {
			if b.ID == "" {
				continue
			}
			sameLine := b.Rect.Y == before.Rect.Y
			if before.ID != "" && !(sameLine && b.Rect.X >= before.Rect.Right() || b.Rect.Y >= before.Rect.Bottom()) {
				t.Fatalf("%s %v comes after %s %v", b.ID, b.Rect, before.ID, before.Rect)
			}
			before = b
		}
	})
}

// TestHitsAreBoxes: the mouse finds an item exactly where its box can be seen.
func TestHitsAreBoxes(t *testing.T) {
	for _, v := range uitest.Sizes() {
		for _, p := range uitest.Gallery() {
			f := lay(p, v)
			for x := 2.5; x < v.WidthPx; x += 7 {
				for y := 2.5; y < v.HeightPx; y += 7 {
					at, want := ui.Point{X: x, Y: y}, ""
					for _, id := range f.Order() {
						for _, b := range f.Boxes {
							if b.ID == id && b.Rect.Has(at) && b.Clip.Has(at) {
								want = id
							}
						}
					}
					if got := f.At(at); got != want {
						t.Fatalf("%s: at %v is %q, want %q", p.Name, at, got, want)
					}
				}
			}
		}
	}
}

func TestGalleryPassesCheck(t *testing.T) {
	for _, p := range uitest.Gallery() {
		if err := lay(p, uitest.Sizes()[0]).Check(); err != nil {
			t.Errorf("%s: %v", p.Name, err)
		}
	}
	bad := ui.Page{
		Body: ui.Row{Items: []ui.Item{ui.Button{ID: "a", Label: "a"}, ui.Button{ID: "a"}, ui.Table{Columns: make([]ui.TableColumn, 2), Rows: [][]string{{"1"}}}}},
		Keys: []ui.Binding{{Keys: []ui.Key{"x"}, ID: "a"}, {Keys: []ui.Key{"x"}, ID: "b"}}, Focus: "c",
	}
	err := lay(bad, uitest.Sizes()[0]).Check()
	for _, want := range []string{`two items have the ID "a"`, "neither label nor mark", "key X is bound", "1 cells for 2 columns", `focus "c"`} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Check says %v, want also %q", err, want)
		}
	}
}

// TestNothingBreaksAtAnySize: no window, text size or value makes layout panic
// or draw to a place that is not a number.
func TestNothingBreaksAtAnySize(t *testing.T) {
	odd := ui.Ruler{
		ID: "odd", Scale: uitest.Frequency(), Value: math.NaN(), Set: true,
		Marks: []ui.RulerMark{{Value: 0, Label: "none"}, {Value: math.Inf(1), Label: "far"}},
	}
	rapid.Check(t, func(t *rapid.T) {
		n := 0
		v := ui.View{
			WidthPx: rapid.Float64Range(1, 3000).Draw(t, "width"), HeightPx: rapid.Float64Range(1, 2000).Draw(t, "height"),
			TextScale: rapid.Float64Range(0.5, 4).Draw(t, "text scale"),
		}
		p := ui.Page{Title: "title", Aside: "aside", Question: "question?", Toast: ui.Toast{Text: "done"},
			Keys: uitest.Answering().Keys, Body: ui.Column{Items: []ui.Item{trees(t, 3, &n), odd, ui.Chart{Series: make([]ui.Series, 2)}}}}
		for _, c := range lay(p, v).Commands {
			for _, q := range c.Path {
				if math.IsNaN(q.X+q.Y) || math.IsInf(q.X+q.Y, 0) {
					t.Fatalf("%+v goes to %v", c, q)
				}
			}
		}
	})
}

// TestSameOnlyWhenNothingChanged is what lets the window leave the screen alone.
func TestSameOnlyWhenNothingChanged(t *testing.T) {
	p, v := uitest.Answering(), uitest.Sizes()[0]
	f := lay(p, v)
	if !f.Same(lay(uitest.Answering(), v)) {
		t.Error("the same page does not look the same")
	}
	s, _ := f.Handle(ui.Event{Kind: ui.Move, At: ui.Point{X: 3, Y: 3}})
	if !f.Same(ui.Layout(p, v, s, uitest.Fixed{})) {
		t.Error("moving the pointer over nothing changes the picture")
	}
	s, _ = f.Handle(ui.Event{Kind: ui.KeyDown, Key: ui.KeyTab})
	if f.Same(ui.Layout(p, v, s, uitest.Fixed{})) {
		t.Error("the focus moved, and the picture is the same")
	}
	p.Aside = "trial 4 of 12"
	if f.Same(lay(p, v)) {
		t.Error("a text changed, and the picture is the same")
	}
}

func TestCurvesMoveOnlyWhereMovementIsWanted(t *testing.T) {
	p, v := uitest.Feedback(), uitest.Sizes()[0]
	p.Progress = 0
	start := lay(p, v)
	p.Progress = 1
	if start.Same(lay(p, v)) {
		t.Error("the curve does not move")
	}
	v.Still = true
	end := lay(p, v)
	p.Progress = 0
	if !end.Same(lay(p, v)) {
		t.Error("the curve moves with reduced motion")
	}
}

func BenchmarkLayout(b *testing.B) {
	p, v := uitest.Feedback(), uitest.Sizes()[0]
	b.ReportAllocs()
	for b.Loop() {
		lay(p, v)
	}
}
